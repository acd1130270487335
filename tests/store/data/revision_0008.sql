BEGIN TRANSACTION;
CREATE TABLE access_log (
	id INTEGER NOT NULL, 
	at TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	about TEXT NOT NULL, 
	address TEXT NOT NULL, 
	CONSTRAINT pk_access_log PRIMARY KEY (id)
);
CREATE TABLE age_group (
	name TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	spellings TEXT NOT NULL, 
	CONSTRAINT pk_age_group PRIMARY KEY (name)
);
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0008');
CREATE TABLE batch (
	bottle TEXT NOT NULL, 
	job INTEGER NOT NULL, 
	solution TEXT NOT NULL, 
	amount BIGINT NOT NULL, 
	nominal TEXT, 
	uncertainty_pct TEXT, 
	made_on DATE NOT NULL, 
	use_by DATE NOT NULL, 
	made_by TEXT NOT NULL, 
	CONSTRAINT pk_batch PRIMARY KEY (bottle), 
	CONSTRAINT fk_batch_bottle FOREIGN KEY(bottle) REFERENCES bottle (code), 
	CONSTRAINT fk_batch_job FOREIGN KEY(job) REFERENCES job (id)
);
CREATE TABLE booking (
	code TEXT NOT NULL, 
	"on" DATE NOT NULL, 
	period TEXT NOT NULL, 
	room TEXT NOT NULL, 
	teacher TEXT NOT NULL, 
	demo TEXT NOT NULL, 
	showings INTEGER NOT NULL, 
	status TEXT NOT NULL, "group" TEXT DEFAULT '' NOT NULL, note TEXT DEFAULT '' NOT NULL, item TEXT DEFAULT '' NOT NULL, portion BIGINT DEFAULT '0' NOT NULL, trials INTEGER DEFAULT '0' NOT NULL, set_out TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_booking PRIMARY KEY (code), 
	CONSTRAINT ck_booking_status CHECK (status IN ('booked', 'done', 'cancelled')), 
	CONSTRAINT ck_booking_showings CHECK (showings > 0)
);
INSERT INTO "booking" VALUES('B1','2027-01-20','2','L1','A. Example','agar-diffusion',1,'booked','','','',0,0,'');
CREATE TABLE bottle (
	code TEXT NOT NULL, 
	item TEXT NOT NULL, 
	measure TEXT NOT NULL, 
	balance BIGINT NOT NULL, 
	status TEXT NOT NULL, 
	location TEXT NOT NULL, 
	received DATE, 
	opened DATE, 
	use_by DATE, 
	lot TEXT NOT NULL, 
	strength TEXT, 
	strength_uncertainty_pct TEXT, 
	tare BIGINT, 
	made_by TEXT NOT NULL, 
	note TEXT NOT NULL, "full" BIGINT, supplier TEXT, cost TEXT, 
	CONSTRAINT pk_bottle PRIMARY KEY (code), 
	CONSTRAINT ck_bottle_measure CHECK (measure IN ('mass', 'volume')), 
	CONSTRAINT ck_bottle_status CHECK (status IN ('in service', 'quarantine', 'discarded')), 
	CONSTRAINT ck_bottle_balance_not_below_zero CHECK (balance >= 0), 
	CONSTRAINT fk_bottle_location FOREIGN KEY(location) REFERENCES location (code)
);
INSERT INTO "bottle" VALUES('N7C2','sodium-chloride','mass',400000000,'in service','PREP','2027-01-11','2027-01-11','2030-01-31','L1',NULL,NULL,NULL,'','',NULL,NULL,NULL);
INSERT INTO "bottle" VALUES('M6F6','urea','mass',0,'discarded','PREP','2027-01-11',NULL,'2030-01-31','L1',NULL,NULL,NULL,'','',NULL,NULL,NULL);
INSERT INTO "bottle" VALUES('K7M2','urea','mass',250000000,'in service','PREP','2027-01-11',NULL,NULL,'L2',NULL,NULL,NULL,'','',NULL,NULL,NULL);
CREATE TABLE "change" (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	code TEXT NOT NULL, 
	field TEXT NOT NULL, 
	"before" TEXT, 
	"after" TEXT, 
	CONSTRAINT pk_change PRIMARY KEY (id), 
	CONSTRAINT fk_change_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "change" VALUES(165,1,'location','PREP','*',NULL,'{"code":"PREP","name":"Prep room","note":"","walk_order":"1"}');
INSERT INTO "change" VALUES(166,1,'method_step','acetic-acid','*',NULL,'{"code":"acetic-acid","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(167,1,'method_step','agno3-0.02','*',NULL,'{"code":"agno3-0.02","item":"","kind":"first","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Distilled water only: tap water clouds it."}');
INSERT INTO "change" VALUES(168,1,'method_step','agno3-0.1','*',NULL,'{"code":"agno3-0.1","item":"","kind":"first","minutes":"0","origins":"","position":"0","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.2.2 Volumetric solutions","temperature_c":null,"text":"Distilled water only: tap water clouds it."}');
INSERT INTO "change" VALUES(169,1,'method_step','alginate-2','*',NULL,'{"code":"alginate-2","item":"","kind":"stand","minutes":"960","origins":"","position":"4","share":null,"source":"common practice, no source","temperature_c":null,"text":"until the bubbles have risen"}');
INSERT INTO "change" VALUES(170,1,'method_step','alum-0.2','*',NULL,'{"code":"alum-0.2","item":"","kind":"water","minutes":"0","origins":"solid","position":"0","share":"0.7","source":"common practice, no source","temperature_c":"50","text":"a beaker"}');
INSERT INTO "change" VALUES(171,1,'method_step','ammonia','*',NULL,'{"code":"ammonia","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"from memory: International Chemical Safety Card 0215","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(172,1,'method_step','ammonia-0.5','*',NULL,'{"code":"ammonia-0.5","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once."}');
INSERT INTO "change" VALUES(173,1,'method_step','ammonia-2','*',NULL,'{"code":"ammonia-2","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once."}');
INSERT INTO "change" VALUES(174,1,'method_step','ammonia-880','*',NULL,'{"code":"ammonia-880","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"from memory: International Chemical Safety Card 0215","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(175,1,'method_step','ascorbic-0.1','*',NULL,'{"code":"ascorbic-0.1","item":"","kind":"boiled water","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"air in it browns the solution"}');
INSERT INTO "change" VALUES(176,1,'method_step','benedict','*',NULL,'{"code":"benedict","item":"","kind":"mark","minutes":"0","origins":"","position":"9","share":null,"source":"CRC Handbook of Chemistry and Physics, special analytical reagents: Benedict''s solution","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(177,1,'method_step','biuret','*',NULL,'{"code":"biuret","item":"","kind":"mark","minutes":"0","origins":"","position":"5","share":null,"source":"from memory: A. G. Gornall, C. J. Bardawill & M. M. David, Journal of Biological Chemistry 177 (1949) 751-766","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(178,1,'method_step','borax-4','*',NULL,'{"code":"borax-4","item":"","kind":"water","minutes":"0","origins":"solid","position":"0","share":"0.7","source":"common practice, no source","temperature_c":"60","text":"a beaker"}');
INSERT INTO "change" VALUES(179,1,'method_step','bromine-water','*',NULL,'{"code":"bromine-water","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"5","share":null,"source":"common practice, no source","temperature_c":null,"text":"only when its bottle is closed"}');
INSERT INTO "change" VALUES(180,1,'method_step','bromocresol-green-0.05','*',NULL,'{"code":"bromocresol-green-0.05","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(181,1,'method_step','bromophenol-blue-0.1','*',NULL,'{"code":"bromophenol-blue-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(182,1,'method_step','bromothymol-blue-0.05','*',NULL,'{"code":"bromothymol-blue-0.05","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(183,1,'method_step','buffer-10','*',NULL,'{"code":"buffer-10","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"Lange''s Handbook of Chemistry, 15th ed., table 8.15","temperature_c":null,"text":"at 20 to 25 °C"}');
INSERT INTO "change" VALUES(184,1,'method_step','buffer-10-ammonia','*',NULL,'{"code":"buffer-10-ammonia","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":null,"text":"only when its bottle is closed"}');
INSERT INTO "change" VALUES(185,1,'method_step','buffer-4','*',NULL,'{"code":"buffer-4","item":"","kind":"mark","minutes":"0","origins":"","position":"1","share":null,"source":"Lange''s Handbook of Chemistry, 15th ed., table 8.15","temperature_c":null,"text":"at 20 to 25 °C"}');
INSERT INTO "change" VALUES(186,1,'method_step','buffer-4.6','*',NULL,'{"code":"buffer-4.6","item":"","kind":"check","minutes":"0","origins":"","position":"4","share":null,"source":"common practice, no source","temperature_c":null,"text":"pH 4.6"}');
INSERT INTO "change" VALUES(187,1,'method_step','buffer-6.86','*',NULL,'{"code":"buffer-6.86","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"Lange''s Handbook of Chemistry, 15th ed., table 8.15","temperature_c":null,"text":"at 20 to 25 °C"}');
INSERT INTO "change" VALUES(188,1,'method_step','buffer-7','*',NULL,'{"code":"buffer-7","item":"","kind":"check","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: CRC Handbook of Chemistry and Physics, buffer solutions giving round values of pH at 25 degC (Bates & Bower, 1956)","temperature_c":null,"text":"pH 7.0"}');
INSERT INTO "change" VALUES(189,1,'method_step','buffer-9.2','*',NULL,'{"code":"buffer-9.2","item":"","kind":"mark","minutes":"0","origins":"","position":"1","share":null,"source":"Lange''s Handbook of Chemistry, 15th ed., table 8.15","temperature_c":null,"text":"at 20 to 25 °C"}');
INSERT INTO "change" VALUES(190,1,'method_step','calcium-chloride','*',NULL,'{"code":"calcium-chloride","item":"","kind":"cool","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(191,1,'method_step','citric-1','*',NULL,'{"code":"citric-1","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Keep it cold: it grows mould."}');
INSERT INTO "change" VALUES(192,1,'method_step','clock-b','*',NULL,'{"code":"clock-b","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"6","share":null,"source":"from memory: B. Z. Shakhashiri, Chemical Demonstrations, vol. 1; strength adapted","temperature_c":null,"text":"only when its bottle is closed"}');
INSERT INTO "change" VALUES(193,1,'method_step','cobalt-equilibrium','*',NULL,'{"code":"cobalt-equilibrium","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(194,1,'method_step','cuso4-1','*',NULL,'{"code":"cuso4-1","item":"","kind":"water","minutes":"0","origins":"solid","position":"1","share":"0.7","source":"common practice, no source","temperature_c":"50","text":"a beaker"}');
INSERT INTO "change" VALUES(195,1,'method_step','dcpip-0.1','*',NULL,'{"code":"dcpip-0.1","item":"","kind":"filter","minutes":"0","origins":"solid","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":"if it is not clear"}');
INSERT INTO "change" VALUES(196,1,'method_step','dichromate-acid','*',NULL,'{"code":"dichromate-acid","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(197,1,'method_step','edta-0.1','*',NULL,'{"code":"edta-0.1","item":"","kind":"water","minutes":"0","origins":"solid","position":"1","share":"0.7","source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":"50","text":"a beaker"}');
INSERT INTO "change" VALUES(198,1,'method_step','eriochrome-0.5','*',NULL,'{"code":"eriochrome-0.5","item":"","kind":"mark","minutes":"0","origins":"","position":"2","share":null,"source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(199,1,'method_step','feas-0.1','*',NULL,'{"code":"feas-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(200,1,'method_step','fecl3-0.1','*',NULL,'{"code":"fecl3-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"United States Pharmacopeia 35, Colorimetric Solutions: ferric chloride CS","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(201,1,'method_step','fehling','*',NULL,'{"code":"fehling","item":"","kind":"note","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: Vogel''s Textbook of Practical Organic Chemistry, 5th ed.","temperature_c":null,"text":"Just before use; no water."}');
INSERT INTO "change" VALUES(202,1,'method_step','fehling-a','*',NULL,'{"code":"fehling-a","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"from memory: Vogel''s Textbook of Practical Organic Chemistry, 5th ed.","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(203,1,'method_step','fehling-b','*',NULL,'{"code":"fehling-b","item":"","kind":"note","minutes":"0","origins":"","position":"8","share":null,"source":"Vogel, Fehling''s solution, as in the National Formulary: tartrate and alkali each in water of its own, cooled before the mark","temperature_c":null,"text":"Close it with a rubber stopper."}');
INSERT INTO "change" VALUES(204,1,'method_step','feno3-0.002','*',NULL,'{"code":"feno3-0.002","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Use it within the week: weak solutions cloud."}');
INSERT INTO "change" VALUES(205,1,'method_step','ferroxyl','*',NULL,'{"code":"ferroxyl","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(206,1,'method_step','feso4-0.1','*',NULL,'{"code":"feso4-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: United States Pharmacopeia, ferrous sulfate TS","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(207,1,'method_step','formic-acid','*',NULL,'{"code":"formic-acid","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(208,1,'method_step','glucose-10','*',NULL,'{"code":"glucose-10","item":"","kind":"note","minutes":"0","origins":"","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":"Keep it cold: it feeds mould."}');
INSERT INTO "change" VALUES(209,1,'method_step','h2o2-clock-a','*',NULL,'{"code":"h2o2-clock-a","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(210,1,'method_step','h2o2-clock-b','*',NULL,'{"code":"h2o2-clock-b","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(211,1,'method_step','hydrochloric-acid','*',NULL,'{"code":"hydrochloric-acid","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(212,1,'method_step','hydrochloric-acid-32','*',NULL,'{"code":"hydrochloric-acid-32","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(213,1,'method_step','hydrogen-peroxide','*',NULL,'{"code":"hydrogen-peroxide","item":"","kind":"caution","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":"Never return any to the bottle."}');
INSERT INTO "change" VALUES(214,1,'method_step','iodine-0.005','*',NULL,'{"code":"iodine-0.005","item":"","kind":"shake","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":"Shake it until it is one colour throughout."}');
INSERT INTO "change" VALUES(215,1,'method_step','iodine-0.05','*',NULL,'{"code":"iodine-0.05","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"British Pharmacopoeia 2012, Appendix I B, Volumetric Solutions: iodine","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(216,1,'method_step','iodine-starch-test','*',NULL,'{"code":"iodine-starch-test","item":"","kind":"note","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":"It comes out the colour of straw."}');
INSERT INTO "change" VALUES(217,1,'method_step','kmno4-0.002','*',NULL,'{"code":"kmno4-0.002","item":"","kind":"boiled water","minutes":"0","origins":"","position":"0","share":null,"source":"British Pharmacopoeia, appendix on volumetric solutions","temperature_c":null,"text":"it would use up some of the permanganate"}');
INSERT INTO "change" VALUES(218,1,'method_step','kmno4-0.02','*',NULL,'{"code":"kmno4-0.02","item":"","kind":"filter","minutes":"0","origins":"solid","position":"4","share":null,"source":"United States Pharmacopeia, Volumetric Solutions: potassium permanganate 0.1 N","temperature_c":null,"text":"through sintered glass or glass wool, never paper"}');
INSERT INTO "change" VALUES(219,1,'method_step','kmno4-0.1','*',NULL,'{"code":"kmno4-0.1","item":"","kind":"filter","minutes":"0","origins":"solid","position":"4","share":null,"source":"United States Pharmacopeia, Volumetric Solutions: potassium permanganate 0.1 N","temperature_c":null,"text":"through sintered glass or glass wool, never paper"}');
INSERT INTO "change" VALUES(220,1,'method_step','kmno4-acid','*',NULL,'{"code":"kmno4-acid","item":"","kind":"mark","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(221,1,'method_step','koh-1','*',NULL,'{"code":"koh-1","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once: it takes up carbon dioxide."}');
INSERT INTO "change" VALUES(222,1,'method_step','limewater','*',NULL,'{"code":"limewater","item":"","kind":"note","minutes":"0","origins":"","position":"7","share":null,"source":"United States Pharmacopeia 32, Calcium Hydroxide Topical Solution; British Pharmacopoeia 2025, Calcium Hydroxide Solution","temperature_c":null,"text":"Never warm it: it dissolves less when hot."}');
INSERT INTO "change" VALUES(223,1,'method_step','litmus-1','*',NULL,'{"code":"litmus-1","item":"","kind":"mark","minutes":"0","origins":"","position":"6","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(224,1,'method_step','lugol','*',NULL,'{"code":"lugol","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(225,1,'method_step','luminol-a','*',NULL,'{"code":"luminol-a","item":"","kind":"mark","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(226,1,'method_step','luminol-b','*',NULL,'{"code":"luminol-b","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(227,1,'method_step','methyl-orange-0.1','*',NULL,'{"code":"methyl-orange-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(228,1,'method_step','methyl-red-0.05','*',NULL,'{"code":"methyl-red-0.05","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(229,1,'method_step','methylene-blue-0.1','*',NULL,'{"code":"methylene-blue-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(230,1,'method_step','molybdate','*',NULL,'{"code":"molybdate","item":"","kind":"filter","minutes":"0","origins":"","position":"6","share":null,"source":"C. & J. J. Beringer, A Text-Book of Assaying, ammonium molybdate solution","temperature_c":null,"text":"if it is not clear"}');
INSERT INTO "change" VALUES(231,1,'method_step','nacl-5','*',NULL,'{"code":"nacl-5","item":"","kind":"water","minutes":"0","origins":"solid","position":"0","share":"0.7","source":"common practice, no source","temperature_c":"50","text":"a beaker"}');
INSERT INTO "change" VALUES(232,1,'method_step','naoh-0.1','*',NULL,'{"code":"naoh-0.1","item":"","kind":"boiled water","minutes":"0","origins":"","position":"0","share":null,"source":"British Pharmacopoeia 2013, Appendix I B, Volumetric Solutions: sodium hydroxide","temperature_c":null,"text":"it must hold no carbon dioxide"}');
INSERT INTO "change" VALUES(233,1,'method_step','naoh-0.4','*',NULL,'{"code":"naoh-0.4","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once: it takes up carbon dioxide."}');
INSERT INTO "change" VALUES(234,1,'method_step','naoh-0.5','*',NULL,'{"code":"naoh-0.5","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once: it takes up carbon dioxide."}');
INSERT INTO "change" VALUES(235,1,'method_step','naoh-1','*',NULL,'{"code":"naoh-1","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once: it takes up carbon dioxide."}');
INSERT INTO "change" VALUES(236,1,'method_step','naoh-2','*',NULL,'{"code":"naoh-2","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Close it at once: it takes up carbon dioxide."}');
INSERT INTO "change" VALUES(237,1,'method_step','ninhydrin-0.2','*',NULL,'{"code":"ninhydrin-0.2","item":"","kind":"caution","minutes":"0","origins":"","position":"0","share":null,"source":"from memory: Vogel''s Textbook of Practical Organic Chemistry, 5th ed.","temperature_c":null,"text":"Gloves on: it stains the skin."}');
INSERT INTO "change" VALUES(238,1,'method_step','nitric-acid','*',NULL,'{"code":"nitric-acid","item":"","kind":"fume cupboard to","minutes":"0","origins":"","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(239,1,'method_step','oscillator-a','*',NULL,'{"code":"oscillator-a","item":"","kind":"mark","minutes":"0","origins":"","position":"5","share":null,"source":"from memory: B. Z. Shakhashiri, Chemical Demonstrations, vol. 2","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(240,1,'method_step','oscillator-b','*',NULL,'{"code":"oscillator-b","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: B. Z. Shakhashiri, Chemical Demonstrations, vol. 2","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(241,1,'method_step','oxalic-0.05','*',NULL,'{"code":"oxalic-0.05","item":"","kind":"first","minutes":"0","origins":"solid","position":"0","share":null,"source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":null,"text":"Weigh it by difference."}');
INSERT INTO "change" VALUES(242,1,'method_step','phenolphthalein-0.1','*',NULL,'{"code":"phenolphthalein-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"2","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(243,1,'method_step','phenolphthalein-1','*',NULL,'{"code":"phenolphthalein-1","item":"","kind":"mark","minutes":"0","origins":"","position":"2","share":null,"source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(244,1,'method_step','potassium-hydroxide','*',NULL,'{"code":"potassium-hydroxide","item":"","kind":"cool","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(245,1,'method_step','pva-4','*',NULL,'{"code":"pva-4","item":"","kind":"mark","minutes":"0","origins":"","position":"5","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(246,1,'method_step','silver-nitrate','*',NULL,'{"code":"silver-nitrate","item":"","kind":"caution","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"Gloves on: it stains skin and bench."}');
INSERT INTO "change" VALUES(247,1,'method_step','sncl2-0.1','*',NULL,'{"code":"sncl2-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"6","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(248,1,'method_step','sodium-carbonate','*',NULL,'{"code":"sodium-carbonate","item":"","kind":"cool","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(249,1,'method_step','sodium-hydrogencarbonate-0.5','*',NULL,'{"code":"sodium-hydrogencarbonate-0.5","item":"","kind":"caution","minutes":"0","origins":"solid","position":"1","share":null,"source":"common practice, no source","temperature_c":null,"text":"No warm water: heat drives off carbon dioxide."}');
INSERT INTO "change" VALUES(250,1,'method_step','sodium-hydroxide','*',NULL,'{"code":"sodium-hydroxide","item":"","kind":"cool","minutes":"0","origins":"","position":"2","share":null,"source":"British Pharmacopoeia 2013, Appendix I B, Volumetric Solutions: sodium hydroxide","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(251,1,'method_step','sodium-hypochlorite','*',NULL,'{"code":"sodium-hypochlorite","item":"","kind":"add","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":"add it to the water, stirring"}');
INSERT INTO "change" VALUES(252,1,'method_step','starch-1','*',NULL,'{"code":"starch-1","item":"","kind":"mark","minutes":"0","origins":"","position":"8","share":null,"source":"from memory: Vogel''s Textbook of Quantitative Chemical Analysis, 5th ed.","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(253,1,'method_step','starch-preserved','*',NULL,'{"code":"starch-preserved","item":"","kind":"mark","minutes":"0","origins":"","position":"9","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(254,1,'method_step','sulfuric-acid','*',NULL,'{"code":"sulfuric-acid","item":"","kind":"cool","minutes":"0","origins":"","position":"2","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(255,1,'method_step','thiosulfate-0.01','*',NULL,'{"code":"thiosulfate-0.01","item":"","kind":"note","minutes":"0","origins":"","position":"1","share":null,"source":"British Pharmacopoeia 2012, Appendix I B, Volumetric Solutions: sodium thiosulfate","temperature_c":null,"text":"Discard it when it is cloudy."}');
INSERT INTO "change" VALUES(256,1,'method_step','thiosulfate-0.1','*',NULL,'{"code":"thiosulfate-0.1","item":"","kind":"note","minutes":"0","origins":"","position":"5","share":null,"source":"British Pharmacopoeia 2012, Appendix I B, Volumetric Solutions: sodium thiosulfate","temperature_c":null,"text":"Its strength is steadiest after some days: find it again then."}');
INSERT INTO "change" VALUES(257,1,'method_step','thiosulfate-0.2','*',NULL,'{"code":"thiosulfate-0.2","item":"","kind":"note","minutes":"0","origins":"","position":"1","share":null,"source":"British Pharmacopoeia 2012, Appendix I B, Volumetric Solutions: sodium thiosulfate","temperature_c":null,"text":"Discard it when it is cloudy."}');
INSERT INTO "change" VALUES(258,1,'method_step','thymol-blue-0.1','*',NULL,'{"code":"thymol-blue-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(259,1,'method_step','thymolphthalein-0.1','*',NULL,'{"code":"thymolphthalein-0.1","item":"","kind":"mark","minutes":"0","origins":"","position":"2","share":null,"source":"from memory: European Pharmacopoeia, chapter 4.1.1 Reagents","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(260,1,'method_step','tollens','*',NULL,'{"code":"tollens","item":"","kind":"caution","minutes":"0","origins":"","position":"5","share":null,"source":"from memory: Vogel''s Textbook of Practical Organic Chemistry, 5th ed.","temperature_c":null,"text":"Use it within the hour. Never store it: destroy the rest at once with dilute acid."}');
INSERT INTO "change" VALUES(261,1,'method_step','traffic-alkali','*',NULL,'{"code":"traffic-alkali","item":"","kind":"mark","minutes":"0","origins":"","position":"4","share":null,"source":"from memory: B. Z. Shakhashiri, Chemical Demonstrations, vol. 2; strength adapted","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(262,1,'method_step','universal','*',NULL,'{"code":"universal","item":"","kind":"mark","minutes":"0","origins":"","position":"6","share":null,"source":"from memory: L. S. Foster & I. J. Gruntfest, Journal of Chemical Education 14 (1937) 274 (Yamada''s indicator)","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(263,1,'method_step','vanadate-0.05','*',NULL,'{"code":"vanadate-0.05","item":"","kind":"mark","minutes":"0","origins":"","position":"5","share":null,"source":"common practice, no source","temperature_c":null,"text":""}');
INSERT INTO "change" VALUES(264,1,'method_step','vinegar','*',NULL,'{"code":"vinegar","item":"","kind":"note","minutes":"0","origins":"","position":"0","share":null,"source":"common practice, no source","temperature_c":null,"text":"It stands in for pickling vinegar and is not for eating."}');
INSERT INTO "change" VALUES(265,1,'method_step','washing-foam','*',NULL,'{"code":"washing-foam","item":"","kind":"mark","minutes":"0","origins":"","position":"3","share":null,"source":"common practice, no source","temperature_c":null,"text":"stir gently, without raising froth"}');
INSERT INTO "change" VALUES(468,1,'setting','minutes_on','*',NULL,'{"key":"minutes_on","value":"{}"}');
INSERT INTO "change" VALUES(469,1,'setting','minutes_per_day','*',NULL,'{"key":"minutes_per_day","value":"240"}');
INSERT INTO "change" VALUES(470,1,'setting','school','*',NULL,'{"key":"school","value":"\"\""}');
INSERT INTO "change" VALUES(471,1,'setting','weekdays','*',NULL,'{"key":"weekdays","value":"[0, 1, 2, 3, 4]"}');
INSERT INTO "change" VALUES(965,2,'bottle','N7C2','*',NULL,'{"code":"N7C2","cost":null,"full":null,"item":"sodium-chloride","location":"PREP","lot":"L1","made_by":"","measure":"mass","note":"","opened":null,"received":"2027-01-11","status":"in service","strength":null,"strength_uncertainty_pct":null,"supplier":null,"tare":null,"use_by":"2030-01-31"}');
INSERT INTO "change" VALUES(966,3,'bottle','M6F6','*',NULL,'{"code":"M6F6","cost":null,"full":null,"item":"urea","location":"PREP","lot":"L1","made_by":"","measure":"mass","note":"","opened":null,"received":"2027-01-11","status":"in service","strength":null,"strength_uncertainty_pct":null,"supplier":null,"tare":null,"use_by":"2030-01-31"}');
INSERT INTO "change" VALUES(967,4,'bottle','N7C2','opened',NULL,'2027-01-11');
INSERT INTO "change" VALUES(968,7,'bottle','M6F6','status','in service','discarded');
INSERT INTO "change" VALUES(969,8,'purchase','P1','*',NULL,'{"by":"Ada","code":"P1","due":"2027-01-18","item":"urea","pack":"250000000","packs":"1","placed":"2027-01-11","status":"placed"}');
INSERT INTO "change" VALUES(970,9,'bottle','K7M2','*',NULL,'{"code":"K7M2","cost":null,"full":null,"item":"urea","location":"PREP","lot":"L2","made_by":"","measure":"mass","note":"","opened":null,"received":"2027-01-11","status":"in service","strength":null,"strength_uncertainty_pct":null,"supplier":null,"tare":null,"use_by":null}');
INSERT INTO "change" VALUES(971,9,'purchase','P1','status','placed','arrived');
INSERT INTO "change" VALUES(972,10,'booking','B1','*',NULL,'{"code":"B1","demo":"agar-diffusion","group":"","item":"","note":"","on":"2027-01-20","period":"2","portion":"0","room":"L1","set_out":"","showings":"1","status":"booked","teacher":"A. Example","trials":"0"}');
INSERT INTO "change" VALUES(973,11,'stocktake','C1','*',NULL,'{"blind":"0","closed_by":null,"closed_on":null,"code":"C1","job":null,"location":"","opened_by":"Ada","opened_on":"2027-01-11","status":"open"}');
INSERT INTO "change" VALUES(974,13,'stocktake','C1','status','open','closed');
INSERT INTO "change" VALUES(975,13,'stocktake','C1','closed_on',NULL,'2027-01-11');
INSERT INTO "change" VALUES(976,13,'stocktake','C1','closed_by',NULL,'Ada');
INSERT INTO "change" VALUES(977,13,'stocktake','C1','job',NULL,'13');
INSERT INTO "change" VALUES(978,14,'demo','agar-diffusion','*','{"about":"Pink cubes of three sizes in acid: the small ones are clear first.","ask_first":"","caution":"Goggles; a blunt blade on a tile.","code":"agar-diffusion","kind":"class practical","leftover":[],"name":"Diffusion into agar cubes","need":[],"other_names":"","principle":"","source":"common practice, no source","spare":"0.1","trials":"0"}','{"about":"Pink cubes of three sizes in acid: the small ones are clear first.","ask_first":"","caution":"Goggles; a blunt blade on a tile.","code":"agar-diffusion","kind":"class practical","leftover":[],"name":"Diffusion into agar cubes","need":[],"other_names":"","principle":"","source":"common practice, no source","spare":"0.1","trials":"0"}');
INSERT INTO "change" VALUES(979,14,'method_step','acetic-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(980,14,'method_step','agno3-0.02','*',NULL,NULL);
INSERT INTO "change" VALUES(981,14,'method_step','agno3-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(982,14,'method_step','alginate-2','*',NULL,NULL);
INSERT INTO "change" VALUES(983,14,'method_step','alum-0.2','*',NULL,NULL);
INSERT INTO "change" VALUES(984,14,'method_step','ammonia','*',NULL,NULL);
INSERT INTO "change" VALUES(985,14,'method_step','ammonia-0.5','*',NULL,NULL);
INSERT INTO "change" VALUES(986,14,'method_step','ammonia-2','*',NULL,NULL);
INSERT INTO "change" VALUES(987,14,'method_step','ammonia-880','*',NULL,NULL);
INSERT INTO "change" VALUES(988,14,'method_step','ascorbic-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(989,14,'method_step','benedict','*',NULL,NULL);
INSERT INTO "change" VALUES(990,14,'method_step','biuret','*',NULL,NULL);
INSERT INTO "change" VALUES(991,14,'method_step','borax-4','*',NULL,NULL);
INSERT INTO "change" VALUES(992,14,'method_step','bromine-water','*',NULL,NULL);
INSERT INTO "change" VALUES(993,14,'method_step','bromocresol-green-0.05','*',NULL,NULL);
INSERT INTO "change" VALUES(994,14,'method_step','bromophenol-blue-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(995,14,'method_step','bromothymol-blue-0.05','*',NULL,NULL);
INSERT INTO "change" VALUES(996,14,'method_step','buffer-10','*',NULL,NULL);
INSERT INTO "change" VALUES(997,14,'method_step','buffer-10-ammonia','*',NULL,NULL);
INSERT INTO "change" VALUES(998,14,'method_step','buffer-4','*',NULL,NULL);
INSERT INTO "change" VALUES(999,14,'method_step','buffer-4.6','*',NULL,NULL);
INSERT INTO "change" VALUES(1000,14,'method_step','buffer-6.86','*',NULL,NULL);
INSERT INTO "change" VALUES(1001,14,'method_step','buffer-7','*',NULL,NULL);
INSERT INTO "change" VALUES(1002,14,'method_step','buffer-9.2','*',NULL,NULL);
INSERT INTO "change" VALUES(1003,14,'method_step','calcium-chloride','*',NULL,NULL);
INSERT INTO "change" VALUES(1004,14,'method_step','citric-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1005,14,'method_step','clock-b','*',NULL,NULL);
INSERT INTO "change" VALUES(1006,14,'method_step','cobalt-equilibrium','*',NULL,NULL);
INSERT INTO "change" VALUES(1007,14,'method_step','cuso4-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1008,14,'method_step','dcpip-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1009,14,'method_step','dichromate-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(1010,14,'method_step','edta-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1011,14,'method_step','eriochrome-0.5','*',NULL,NULL);
INSERT INTO "change" VALUES(1012,14,'method_step','feas-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1013,14,'method_step','fecl3-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1014,14,'method_step','fehling','*',NULL,NULL);
INSERT INTO "change" VALUES(1015,14,'method_step','fehling-a','*',NULL,NULL);
INSERT INTO "change" VALUES(1016,14,'method_step','fehling-b','*',NULL,NULL);
INSERT INTO "change" VALUES(1017,14,'method_step','feno3-0.002','*',NULL,NULL);
INSERT INTO "change" VALUES(1018,14,'method_step','ferroxyl','*',NULL,NULL);
INSERT INTO "change" VALUES(1019,14,'method_step','feso4-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1020,14,'method_step','formic-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(1021,14,'method_step','glucose-10','*',NULL,NULL);
INSERT INTO "change" VALUES(1022,14,'method_step','h2o2-clock-a','*',NULL,NULL);
INSERT INTO "change" VALUES(1023,14,'method_step','h2o2-clock-b','*',NULL,NULL);
INSERT INTO "change" VALUES(1024,14,'method_step','hydrochloric-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(1025,14,'method_step','hydrochloric-acid-32','*',NULL,NULL);
INSERT INTO "change" VALUES(1026,14,'method_step','hydrogen-peroxide','*',NULL,NULL);
INSERT INTO "change" VALUES(1027,14,'method_step','iodine-0.005','*',NULL,NULL);
INSERT INTO "change" VALUES(1028,14,'method_step','iodine-0.05','*',NULL,NULL);
INSERT INTO "change" VALUES(1029,14,'method_step','iodine-starch-test','*',NULL,NULL);
INSERT INTO "change" VALUES(1030,14,'method_step','kmno4-0.002','*',NULL,NULL);
INSERT INTO "change" VALUES(1031,14,'method_step','kmno4-0.02','*',NULL,NULL);
INSERT INTO "change" VALUES(1032,14,'method_step','kmno4-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1033,14,'method_step','kmno4-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(1034,14,'method_step','koh-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1035,14,'method_step','limewater','*',NULL,NULL);
INSERT INTO "change" VALUES(1036,14,'method_step','litmus-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1037,14,'method_step','lugol','*',NULL,NULL);
INSERT INTO "change" VALUES(1038,14,'method_step','luminol-a','*',NULL,NULL);
INSERT INTO "change" VALUES(1039,14,'method_step','luminol-b','*',NULL,NULL);
INSERT INTO "change" VALUES(1040,14,'method_step','methyl-orange-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1041,14,'method_step','methyl-red-0.05','*',NULL,NULL);
INSERT INTO "change" VALUES(1042,14,'method_step','methylene-blue-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1043,14,'method_step','molybdate','*',NULL,NULL);
INSERT INTO "change" VALUES(1044,14,'method_step','nacl-5','*',NULL,NULL);
INSERT INTO "change" VALUES(1045,14,'method_step','naoh-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1046,14,'method_step','naoh-0.4','*',NULL,NULL);
INSERT INTO "change" VALUES(1047,14,'method_step','naoh-0.5','*',NULL,NULL);
INSERT INTO "change" VALUES(1048,14,'method_step','naoh-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1049,14,'method_step','naoh-2','*',NULL,NULL);
INSERT INTO "change" VALUES(1050,14,'method_step','ninhydrin-0.2','*',NULL,NULL);
INSERT INTO "change" VALUES(1051,14,'method_step','nitric-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(1052,14,'method_step','oscillator-a','*',NULL,NULL);
INSERT INTO "change" VALUES(1053,14,'method_step','oscillator-b','*',NULL,NULL);
INSERT INTO "change" VALUES(1054,14,'method_step','oxalic-0.05','*',NULL,NULL);
INSERT INTO "change" VALUES(1055,14,'method_step','phenolphthalein-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1056,14,'method_step','phenolphthalein-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1057,14,'method_step','potassium-hydroxide','*',NULL,NULL);
INSERT INTO "change" VALUES(1058,14,'method_step','pva-4','*',NULL,NULL);
INSERT INTO "change" VALUES(1059,14,'method_step','silver-nitrate','*',NULL,NULL);
INSERT INTO "change" VALUES(1060,14,'method_step','sncl2-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1061,14,'method_step','sodium-carbonate','*',NULL,NULL);
INSERT INTO "change" VALUES(1062,14,'method_step','sodium-hydrogencarbonate-0.5','*',NULL,NULL);
INSERT INTO "change" VALUES(1063,14,'method_step','sodium-hydroxide','*',NULL,NULL);
INSERT INTO "change" VALUES(1064,14,'method_step','sodium-hypochlorite','*',NULL,NULL);
INSERT INTO "change" VALUES(1065,14,'method_step','starch-1','*',NULL,NULL);
INSERT INTO "change" VALUES(1066,14,'method_step','starch-preserved','*',NULL,NULL);
INSERT INTO "change" VALUES(1067,14,'method_step','sulfuric-acid','*',NULL,NULL);
INSERT INTO "change" VALUES(1068,14,'method_step','thiosulfate-0.01','*',NULL,NULL);
INSERT INTO "change" VALUES(1069,14,'method_step','thiosulfate-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1070,14,'method_step','thiosulfate-0.2','*',NULL,NULL);
INSERT INTO "change" VALUES(1071,14,'method_step','thymol-blue-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1072,14,'method_step','thymolphthalein-0.1','*',NULL,NULL);
INSERT INTO "change" VALUES(1073,14,'method_step','tollens','*',NULL,NULL);
INSERT INTO "change" VALUES(1074,14,'method_step','traffic-alkali','*',NULL,NULL);
INSERT INTO "change" VALUES(1075,14,'method_step','universal','*',NULL,NULL);
INSERT INTO "change" VALUES(1076,14,'method_step','vanadate-0.05','*',NULL,NULL);
INSERT INTO "change" VALUES(1077,14,'method_step','vinegar','*',NULL,NULL);
INSERT INTO "change" VALUES(1078,14,'method_step','washing-foam','*',NULL,NULL);
INSERT INTO "change" VALUES(1079,14,'substance','sodium-chloride','*','{"assay_half_width_pct":"0.5","assay_pct":"99.5","cas":"7647-14-5","classification":"not classified","code":"sodium-chloride","density_g_ml":null,"disposal":"drain","dry_c":"110","dry_minutes":"120","flash_point_c":null,"form":"solid","formula":"NaCl","found_against":"","name":"Sodium chloride","other_names":"common salt;salt;table salt;cooking salt","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"35.89","solute":"sodium-chloride","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\", \"assay half-width\": \"common practice, no source: sold as 99.5 % at least, so within 0.5 %\", \"standard\": \"British Pharmacopoeia, standardisation of silver nitrate\"}","storage_group":"low_hazard","supplemental":"","unfit":""}','{"assay_half_width_pct":"0.5","assay_pct":"99.5","cas":"7647-14-5","classification":"not classified","code":"sodium-chloride","density_g_ml":null,"disposal":"drain","dry_c":"110","dry_minutes":"120","flash_point_c":null,"form":"solid","formula":"NaCl","found_against":"","name":"Sodium chloride","other_names":"common salt;salt;table salt;cooking salt","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"35.89","solute":"sodium-chloride","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\", \"assay half-width\": \"common practice, no source: sold as 99.5 % at least, so within 0.5 %\", \"standard\": \"British Pharmacopoeia, standardisation of silver nitrate\"}","storage_group":"low_hazard","supplemental":"","unfit":""}');
INSERT INTO "change" VALUES(1080,14,'substance','urea','*','{"assay_half_width_pct":"1","assay_pct":"99","cas":"57-13-6","classification":"not classified","code":"urea","density_g_ml":null,"disposal":"drain","dry_c":null,"dry_minutes":"0","flash_point_c":null,"form":"solid","formula":"CO(NH2)2","found_against":"","name":"Urea","other_names":"carbamide","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"108","solute":"urea","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\", \"assay half-width\": \"common practice, no source: sold as 99 % at least, so within 1 %\"}","storage_group":"low_hazard","supplemental":"","unfit":""}','{"assay_half_width_pct":"1","assay_pct":"99","cas":"57-13-6","classification":"not classified","code":"urea","density_g_ml":null,"disposal":"drain","dry_c":null,"dry_minutes":"0","flash_point_c":null,"form":"solid","formula":"CO(NH2)2","found_against":"","name":"Urea","other_names":"carbamide","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"108","solute":"urea","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\", \"assay half-width\": \"common practice, no source: sold as 99 % at least, so within 1 %\"}","storage_group":"low_hazard","supplemental":"","unfit":""}');
CREATE TABLE closed (
	"on" DATE NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_closed PRIMARY KEY ("on")
);
CREATE TABLE count_report (
	job INTEGER NOT NULL, 
	stocktake TEXT NOT NULL, 
	document TEXT NOT NULL, 
	CONSTRAINT pk_count_report PRIMARY KEY (job), 
	CONSTRAINT fk_count_report_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_count_report_stocktake FOREIGN KEY(stocktake) REFERENCES stocktake (code)
);
CREATE TABLE demo (
	code TEXT NOT NULL, 
	name TEXT NOT NULL, 
	spare TEXT NOT NULL, 
	about TEXT NOT NULL, 
	caution TEXT NOT NULL, 
	source TEXT NOT NULL, other_names TEXT DEFAULT '' NOT NULL, principle TEXT DEFAULT '' NOT NULL, trials INTEGER DEFAULT '0' NOT NULL, kind TEXT DEFAULT 'demonstration' NOT NULL, ask_first TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_demo PRIMARY KEY (code)
);
INSERT INTO "demo" VALUES('agar-diffusion','Diffusion into agar cubes','0.1','Pink cubes of three sizes in acid: the small ones are clear first.','Goggles; a blunt blade on a tile.','common practice, no source','','',0,'class practical','');
CREATE TABLE ingredient (
	solution TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	item TEXT NOT NULL, 
	amount BIGINT NOT NULL, 
	note TEXT NOT NULL, 
	CONSTRAINT pk_ingredient PRIMARY KEY (solution, position), 
	CONSTRAINT fk_ingredient_solution FOREIGN KEY(solution) REFERENCES solution (code)
);
CREATE TABLE instrument (
	code TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	grade TEXT NOT NULL, 
	capacity TEXT NOT NULL, 
	tolerance TEXT NOT NULL, 
	resolution TEXT NOT NULL, 
	count INTEGER NOT NULL, 
	source TEXT NOT NULL, 
	CONSTRAINT pk_instrument PRIMARY KEY (code)
);
CREATE TABLE invitation (
	"key" TEXT NOT NULL, 
	person INTEGER NOT NULL, 
	"by" TEXT NOT NULL, 
	made TEXT NOT NULL, 
	until TEXT NOT NULL, 
	used TEXT, 
	CONSTRAINT pk_invitation PRIMARY KEY ("key"), 
	CONSTRAINT fk_invitation_person FOREIGN KEY(person) REFERENCES person (id)
);
CREATE TABLE job (
	id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	at TEXT NOT NULL, 
	"on" DATE NOT NULL, 
	note TEXT NOT NULL, 
	reverses INTEGER, 
	CONSTRAINT pk_job PRIMARY KEY (id), 
	CONSTRAINT fk_job_reverses FOREIGN KEY(reverses) REFERENCES job (id), 
	CONSTRAINT uq_job_reverses UNIQUE (reverses)
);
INSERT INTO "job" VALUES(1,'opening','Ada','2026-11-29T17:56:09+00:00','2027-01-11','the shipped catalogue',NULL);
INSERT INTO "job" VALUES(2,'receive','Ada','2026-11-29T17:56:10+00:00','2027-01-11','',NULL);
INSERT INTO "job" VALUES(3,'receive','Ada','2026-11-29T17:56:10+00:00','2027-01-11','',NULL);
INSERT INTO "job" VALUES(4,'use','Ada','2026-11-29T17:56:10+00:00','2027-01-11','for a demo',NULL);
INSERT INTO "job" VALUES(5,'use','Ben','2026-11-29T17:56:11+00:00','2027-01-11','wrong bottle',NULL);
INSERT INTO "job" VALUES(6,'undo','Ada','2026-11-29T17:56:11+00:00','2027-01-11','undoes job 5 (use)',5);
INSERT INTO "job" VALUES(7,'discard','Ben','2026-11-29T17:56:11+00:00','2027-01-11','M6F6: lumps',NULL);
INSERT INTO "job" VALUES(8,'catalogue','root','2026-11-29T17:56:11+00:00','2026-11-29','purchase',NULL);
INSERT INTO "job" VALUES(9,'arrive','Ada','2026-11-29T17:56:11+00:00','2027-01-11','order P1',NULL);
INSERT INTO "job" VALUES(10,'book','A. Example','2026-11-29T17:56:13+00:00','2027-01-11','B1: agar-diffusion on 2027-01-20',NULL);
INSERT INTO "job" VALUES(11,'count open','Ada','2026-11-29T17:56:14+00:00','2027-01-11','count C1 of all places',NULL);
INSERT INTO "job" VALUES(12,'tally','Ben','2026-11-29T17:56:14+00:00','2027-01-11','count C1: N7C2',NULL);
INSERT INTO "job" VALUES(13,'count','Ada','2026-11-29T17:56:15+00:00','2027-01-11','C1: count of all places',NULL);
INSERT INTO "job" VALUES(14,'upgrade','root','2026-11-29T17:56:15+00:00','2026-11-29','what the stored inventory keeps',NULL);
CREATE TABLE leftover (
	demo TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	what TEXT NOT NULL, 
	stream TEXT NOT NULL, 
	note TEXT NOT NULL, 
	CONSTRAINT pk_leftover PRIMARY KEY (demo, position), 
	CONSTRAINT fk_leftover_demo FOREIGN KEY(demo) REFERENCES demo (code)
);
CREATE TABLE location (
	code TEXT NOT NULL, 
	name TEXT NOT NULL, 
	walk_order INTEGER NOT NULL, 
	note TEXT NOT NULL, 
	CONSTRAINT pk_location PRIMARY KEY (code)
);
INSERT INTO "location" VALUES('PREP','Prep room',1,'');
CREATE TABLE method_step (
	code TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	text TEXT NOT NULL, 
	item TEXT NOT NULL, 
	origins TEXT NOT NULL, 
	share TEXT, 
	temperature_c TEXT, 
	minutes INTEGER NOT NULL, 
	source TEXT NOT NULL, 
	CONSTRAINT pk_method_step PRIMARY KEY (code, position)
);
CREATE TABLE movement (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	bottle TEXT NOT NULL, 
	amount BIGINT NOT NULL, 
	reason TEXT NOT NULL, 
	reverses INTEGER, 
	CONSTRAINT pk_movement PRIMARY KEY (id), 
	CONSTRAINT ck_movement_amount_not_zero CHECK (amount <> 0), 
	CONSTRAINT fk_movement_bottle FOREIGN KEY(bottle) REFERENCES bottle (code), 
	CONSTRAINT fk_movement_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_movement_reverses FOREIGN KEY(reverses) REFERENCES movement (id), 
	CONSTRAINT uq_movement_reverses UNIQUE (reverses)
);
INSERT INTO "movement" VALUES(1,2,'N7C2',500000000,'received',NULL);
INSERT INTO "movement" VALUES(2,3,'M6F6',500000000,'received',NULL);
INSERT INTO "movement" VALUES(3,4,'N7C2',-12500000,'for a demo',NULL);
INSERT INTO "movement" VALUES(4,5,'N7C2',-1000000,'wrong bottle',NULL);
INSERT INTO "movement" VALUES(5,6,'N7C2',1000000,'undo: wrong bottle',4);
INSERT INTO "movement" VALUES(6,7,'M6F6',-500000000,'lumps',NULL);
INSERT INTO "movement" VALUES(7,9,'K7M2',250000000,'arrived, order P1',NULL);
INSERT INTO "movement" VALUES(8,13,'N7C2',-87500000,'count C1: 87.5 g less than the books; measuring explains 29 g at most',NULL);
CREATE TABLE need (
	demo TEXT NOT NULL, 
	position INTEGER NOT NULL, 
	item TEXT NOT NULL, 
	per_showing BIGINT NOT NULL, 
	vessel TEXT NOT NULL, 
	dead BIGINT NOT NULL, 
	fresh INTEGER NOT NULL, 
	drops INTEGER NOT NULL, 
	until TEXT NOT NULL, 
	note TEXT NOT NULL, dropper TEXT DEFAULT '' NOT NULL, shared INTEGER DEFAULT '0' NOT NULL, 
	CONSTRAINT pk_need PRIMARY KEY (demo, position), 
	CONSTRAINT fk_need_demo FOREIGN KEY(demo) REFERENCES demo (code)
);
CREATE TABLE person (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	known TEXT NOT NULL, 
	roles TEXT NOT NULL, 
	status TEXT NOT NULL, 
	pass_phrase TEXT, 
	pin TEXT, 
	feed TEXT, 
	made TEXT NOT NULL, 
	CONSTRAINT pk_person PRIMARY KEY (id), 
	CONSTRAINT ck_person_status CHECK (status IN ('active', 'left')), 
	CONSTRAINT uq_person_known UNIQUE (known)
);
CREATE TABLE purchase (
	code TEXT NOT NULL, 
	item TEXT NOT NULL, 
	pack BIGINT NOT NULL, 
	packs INTEGER NOT NULL, 
	placed DATE NOT NULL, 
	due DATE NOT NULL, 
	status TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	CONSTRAINT pk_purchase PRIMARY KEY (code), 
	CONSTRAINT ck_purchase_status CHECK (status IN ('placed', 'arrived', 'cancelled'))
);
INSERT INTO "purchase" VALUES('P1','urea',250000000,1,'2027-01-11','2027-01-18','arrived','Ada');
CREATE TABLE residue (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	waste TEXT NOT NULL, 
	amount BIGINT NOT NULL, 
	what TEXT NOT NULL, 
	CONSTRAINT pk_residue PRIMARY KEY (id), 
	CONSTRAINT fk_residue_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_residue_waste FOREIGN KEY(waste) REFERENCES waste (code)
);
CREATE TABLE rule (
	item TEXT NOT NULL, 
	minimum BIGINT NOT NULL, 
	packs TEXT NOT NULL, 
	lead_days INTEGER NOT NULL, 
	CONSTRAINT pk_rule PRIMARY KEY (item)
);
CREATE TABLE school_rule (
	id INTEGER NOT NULL, 
	item TEXT NOT NULL, 
	at_most TEXT, 
	room TEXT NOT NULL, 
	"group" TEXT NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_school_rule PRIMARY KEY (id)
);
CREATE TABLE seal (
	job INTEGER NOT NULL, 
	digest TEXT NOT NULL, 
	CONSTRAINT pk_seal PRIMARY KEY (job), 
	CONSTRAINT fk_seal_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "seal" VALUES(1,'e76005feca34c60350e2bff181d6c26b0d8d3bc4236e5aff58b26ca4b38b9d1b');
INSERT INTO "seal" VALUES(2,'bea03f1671c600d7f102ac4d3fc3065d659a99b47ef435d3b90b11cb327becda');
INSERT INTO "seal" VALUES(3,'0b2da7c4de29e9ef4c6d65ee63f6168e48c4cbac8db933b07df601dab099e8c7');
INSERT INTO "seal" VALUES(4,'041132f5381d5cdf1c4a6a4e49870af5cb30d20698a6c6a150775f3e72b6b7ff');
INSERT INTO "seal" VALUES(5,'801f8c8ac5807a1e42b8d48fb4b876114d154dadd104318050434f0f46552ef2');
INSERT INTO "seal" VALUES(6,'b0f869af410cd7e4dcbf148e06c0e859c98bbe451ee959cf47bca790fa4f8251');
INSERT INTO "seal" VALUES(7,'d051f9cc7c7a32ec13c9db3791649a4cebe06bc1946eb74ddabd268469368951');
INSERT INTO "seal" VALUES(8,'31a518f2f2a32969c07592744957fc1185f9f3223bfa7abd1cee430be9031343');
INSERT INTO "seal" VALUES(9,'09d6d0b52e4cda8bbd32508e62ed851c4c29051e342ae2961c2b16ecfe19b419');
INSERT INTO "seal" VALUES(10,'bb8244ee4679abfe1ed8217c730fec58a3edb94ce2965a7fbdd3babd83ea831a');
INSERT INTO "seal" VALUES(11,'b94a652a2cdfcc9dd7957710bcd04bcb30a614bad496513db3e2cc6be3406ef6');
INSERT INTO "seal" VALUES(12,'12b720bc5dc25200970006f1b24a9e8906a267ced586dfd979f3e64dbe5c72ad');
INSERT INTO "seal" VALUES(13,'561ceebea4a0ab414cb780b59ece0c17585b347ef6bc8a29554c59eecfb9fa8f');
INSERT INTO "seal" VALUES(14,'37666203addd4c6d663a16b6f066e687098874893512c58edf56d845655b2a47');
CREATE TABLE session (
	"key" TEXT NOT NULL, 
	person INTEGER NOT NULL, 
	made TEXT NOT NULL, 
	seen TEXT NOT NULL, 
	until TEXT NOT NULL, 
	bench INTEGER NOT NULL, 
	device TEXT NOT NULL, 
	address TEXT NOT NULL, 
	CONSTRAINT pk_session PRIMARY KEY ("key"), 
	CONSTRAINT fk_session_person FOREIGN KEY(person) REFERENCES person (id)
);
CREATE TABLE setting (
	"key" TEXT NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_setting PRIMARY KEY ("key")
);
INSERT INTO "setting" VALUES('weekdays','[0, 1, 2, 3, 4]');
INSERT INTO "setting" VALUES('minutes_per_day','240');
INSERT INTO "setting" VALUES('minutes_on','{}');
INSERT INTO "setting" VALUES('school','""');
CREATE TABLE sheet_check (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	substance TEXT NOT NULL, 
	supplier TEXT NOT NULL, 
	revision TEXT NOT NULL, 
	classification TEXT NOT NULL, 
	CONSTRAINT pk_sheet_check PRIMARY KEY (id), 
	CONSTRAINT fk_sheet_check_job FOREIGN KEY(job) REFERENCES job (id)
);
CREATE TABLE signoff (
	job INTEGER NOT NULL, 
	stocktake TEXT NOT NULL, 
	bottle TEXT NOT NULL, 
	book BIGINT NOT NULL, 
	counted BIGINT NOT NULL, 
	adjust BIGINT NOT NULL, 
	u_after TEXT NOT NULL, 
	flagged INTEGER NOT NULL, 
	found INTEGER NOT NULL, 
	says TEXT NOT NULL, 
	CONSTRAINT pk_signoff PRIMARY KEY (job, bottle), 
	CONSTRAINT fk_signoff_bottle FOREIGN KEY(bottle) REFERENCES bottle (code), 
	CONSTRAINT fk_signoff_job FOREIGN KEY(job) REFERENCES job (id), 
	CONSTRAINT fk_signoff_stocktake FOREIGN KEY(stocktake) REFERENCES stocktake (code)
);
INSERT INTO "signoff" VALUES(13,'C1','N7C2',487500000,400000000,-87500000,'11547005.383792516',1,1,'87.5 g less than the books; measuring explains 29 g at most');
CREATE TABLE solution (
	code TEXT NOT NULL, 
	name TEXT NOT NULL, 
	purpose TEXT NOT NULL, 
	solute TEXT NOT NULL, 
	strength TEXT, 
	strength_of TEXT NOT NULL, 
	shelf_life_days INTEGER NOT NULL, 
	made_fresh INTEGER NOT NULL, 
	keeping TEXT NOT NULL, 
	tolerance_pct TEXT NOT NULL, 
	made_from TEXT NOT NULL, 
	make_up_with TEXT NOT NULL, 
	recipe_nl BIGINT NOT NULL, 
	minutes INTEGER NOT NULL, 
	method TEXT NOT NULL, 
	sources TEXT NOT NULL, usual_nl BIGINT DEFAULT '0' NOT NULL, small_batch TEXT DEFAULT 'no' NOT NULL, 
	CONSTRAINT pk_solution PRIMARY KEY (code)
);
CREATE TABLE stocktake (
	code TEXT NOT NULL, 
	location TEXT NOT NULL, 
	blind INTEGER NOT NULL, 
	status TEXT NOT NULL, 
	opened_on DATE NOT NULL, 
	opened_by TEXT NOT NULL, 
	closed_on DATE, 
	closed_by TEXT, 
	job INTEGER, 
	CONSTRAINT pk_stocktake PRIMARY KEY (code), 
	CONSTRAINT ck_stocktake_status CHECK (status IN ('open', 'closed', 'dropped')), 
	CONSTRAINT fk_stocktake_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "stocktake" VALUES('C1','',0,'closed','2027-01-11','Ada','2027-01-11','Ada',13);
CREATE TABLE submission (
	"key" TEXT NOT NULL, 
	at TEXT NOT NULL, 
	CONSTRAINT pk_submission PRIMARY KEY ("key")
);
CREATE TABLE substance (
	code TEXT NOT NULL, 
	name TEXT NOT NULL, 
	formula TEXT NOT NULL, 
	solute TEXT NOT NULL, 
	form TEXT NOT NULL, 
	other_names TEXT NOT NULL, 
	cas TEXT NOT NULL, 
	assay_pct TEXT, 
	density_g_ml TEXT, 
	solubility_g_per_100g TEXT, 
	solubility_c TEXT, 
	classification TEXT NOT NULL, 
	supplemental TEXT NOT NULL, 
	flash_point_c TEXT, 
	storage_group TEXT NOT NULL, 
	disposal TEXT NOT NULL, 
	peroxide_class TEXT NOT NULL, 
	sources TEXT NOT NULL, assay_half_width_pct TEXT, dry_c TEXT, dry_minutes INTEGER DEFAULT '0' NOT NULL, unfit TEXT DEFAULT '' NOT NULL, found_against TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_substance PRIMARY KEY (code)
);
INSERT INTO "substance" VALUES('sodium-chloride','Sodium chloride','NaCl','sodium-chloride','solid','common salt;salt;table salt;cooking salt','7647-14-5','99.5',NULL,'35.89','20','not classified','',NULL,'low_hazard','drain','','{"identity": "CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source", "assay": "common practice, no source: usual minimum assay on laboratory reagent labels", "solubility": "CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)", "hazard": "not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments", "assay half-width": "common practice, no source: sold as 99.5 % at least, so within 0.5 %", "standard": "British Pharmacopoeia, standardisation of silver nitrate"}','0.5','110',120,'','');
INSERT INTO "substance" VALUES('urea','Urea','CO(NH2)2','urea','solid','carbamide','57-13-6','99',NULL,'108','20','not classified','',NULL,'low_hazard','drain','','{"identity": "CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source", "assay": "common practice, no source: usual minimum assay on laboratory reagent labels", "solubility": "from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water", "hazard": "not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments", "assay half-width": "common practice, no source: sold as 99 % at least, so within 1 %"}','1',NULL,0,'','');
CREATE TABLE "tally" (
	id INTEGER NOT NULL, 
	stocktake TEXT NOT NULL, 
	bottle TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	readable INTEGER NOT NULL, 
	item TEXT NOT NULL, 
	location TEXT NOT NULL, 
	amount BIGINT NOT NULL, 
	method TEXT NOT NULL, 
	note TEXT NOT NULL, 
	upto INTEGER NOT NULL, 
	"by" TEXT NOT NULL, 
	at TEXT NOT NULL, 
	job INTEGER, 
	CONSTRAINT pk_tally PRIMARY KEY (id), 
	CONSTRAINT ck_tally_kind CHECK (kind IN ('counted', 'not found', 'found')), 
	CONSTRAINT fk_tally_stocktake FOREIGN KEY(stocktake) REFERENCES stocktake (code), 
	CONSTRAINT fk_tally_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "tally" VALUES(1,'C1','N7C2','counted',1,'sodium-chloride','',400000000,'{"by": "amount", "amount": 400000000}','',7,'Ben','2026-11-29T17:56:14+00:00',12);
CREATE TABLE token (
	"key" TEXT NOT NULL, 
	person INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	scopes TEXT NOT NULL, 
	made TEXT NOT NULL, 
	ended TEXT, 
	CONSTRAINT pk_token PRIMARY KEY ("key"), 
	CONSTRAINT fk_token_person FOREIGN KEY(person) REFERENCES person (id)
);
CREATE TABLE usage (
	job INTEGER NOT NULL, 
	item TEXT NOT NULL, 
	booking TEXT NOT NULL, 
	demo TEXT NOT NULL, 
	planned BIGINT NOT NULL, 
	used BIGINT NOT NULL, 
	measured INTEGER NOT NULL, 
	CONSTRAINT pk_usage PRIMARY KEY (job, item), 
	CONSTRAINT fk_usage_booking FOREIGN KEY(booking) REFERENCES booking (code), 
	CONSTRAINT fk_usage_job FOREIGN KEY(job) REFERENCES job (id)
);
CREATE TABLE waste (
	code TEXT NOT NULL, 
	stream TEXT NOT NULL, 
	location TEXT NOT NULL, 
	"full" BIGINT NOT NULL, 
	status TEXT NOT NULL, 
	CONSTRAINT pk_waste PRIMARY KEY (code), 
	CONSTRAINT ck_waste_status CHECK (status IN ('open', 'closed')), 
	CONSTRAINT fk_waste_location FOREIGN KEY(location) REFERENCES location (code)
);
CREATE INDEX ix_booking_on ON booking ("on");
CREATE INDEX ix_bottle_item ON bottle (item);
CREATE INDEX ix_movement_bottle_amount_job ON movement (bottle, amount, job);
CREATE INDEX ix_movement_job ON movement (job);
CREATE INDEX ix_usage_booking ON usage (booking);
CREATE INDEX ix_invitation_person ON invitation (person);
CREATE INDEX ix_session_person ON session (person);
CREATE INDEX ix_token_person ON token (person);
CREATE INDEX ix_change_kind_code ON change (kind, code);
CREATE INDEX ix_change_job ON change (job);
CREATE INDEX ix_tally_stocktake_bottle ON tally (stocktake, bottle);
CREATE INDEX ix_tally_job ON tally (job);
CREATE INDEX ix_signoff_bottle ON signoff (bottle);
CREATE INDEX ix_count_report_stocktake ON count_report (stocktake);
CREATE INDEX ix_residue_job ON residue (job);
CREATE INDEX ix_residue_waste ON residue (waste);
CREATE INDEX ix_sheet_check_job ON sheet_check (job);
CREATE INDEX ix_sheet_check_substance ON sheet_check (substance);
CREATE TRIGGER guard_access_log_update BEFORE UPDATE ON access_log BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_access_log_delete BEFORE DELETE ON access_log BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_access_log_replace BEFORE INSERT ON access_log WHEN EXISTS (SELECT 1 FROM "access_log" WHERE "id" = NEW."id") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_batch_update BEFORE UPDATE ON batch BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_batch_delete BEFORE DELETE ON batch BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_batch_replace BEFORE INSERT ON batch WHEN EXISTS (SELECT 1 FROM "batch" WHERE "bottle" = NEW."bottle") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_batch_sealed BEFORE INSERT ON batch WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_change_update BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_change_delete BEFORE DELETE ON change BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_change_replace BEFORE INSERT ON change WHEN EXISTS (SELECT 1 FROM "change" WHERE "id" = NEW."id") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_change_sealed BEFORE INSERT ON change WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_count_report_update BEFORE UPDATE ON count_report BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_count_report_delete BEFORE DELETE ON count_report BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_count_report_replace BEFORE INSERT ON count_report WHEN EXISTS (SELECT 1 FROM "count_report" WHERE "job" = NEW."job") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_count_report_sealed BEFORE INSERT ON count_report WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_job_update BEFORE UPDATE ON job BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_job_delete BEFORE DELETE ON job BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_job_replace BEFORE INSERT ON job WHEN EXISTS (SELECT 1 FROM "job" WHERE "id" = NEW."id") OR EXISTS (SELECT 1 FROM "job" WHERE "reverses" = NEW."reverses") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_job_sealed BEFORE INSERT ON job WHEN NEW."id" > 0 AND NEW."id" <= (SELECT max(job) FROM seal) BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_movement_update BEFORE UPDATE ON movement BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_movement_delete BEFORE DELETE ON movement BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_movement_replace BEFORE INSERT ON movement WHEN EXISTS (SELECT 1 FROM "movement" WHERE "id" = NEW."id") OR EXISTS (SELECT 1 FROM "movement" WHERE "reverses" = NEW."reverses") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_movement_sealed BEFORE INSERT ON movement WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_residue_update BEFORE UPDATE ON residue BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_residue_delete BEFORE DELETE ON residue BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_residue_replace BEFORE INSERT ON residue WHEN EXISTS (SELECT 1 FROM "residue" WHERE "id" = NEW."id") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_residue_sealed BEFORE INSERT ON residue WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_seal_update BEFORE UPDATE ON seal BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_seal_delete BEFORE DELETE ON seal BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_seal_replace BEFORE INSERT ON seal WHEN EXISTS (SELECT 1 FROM "seal" WHERE "job" = NEW."job") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_sheet_check_update BEFORE UPDATE ON sheet_check BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_sheet_check_delete BEFORE DELETE ON sheet_check BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_sheet_check_replace BEFORE INSERT ON sheet_check WHEN EXISTS (SELECT 1 FROM "sheet_check" WHERE "id" = NEW."id") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_sheet_check_sealed BEFORE INSERT ON sheet_check WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_signoff_update BEFORE UPDATE ON signoff BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_signoff_delete BEFORE DELETE ON signoff BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_signoff_replace BEFORE INSERT ON signoff WHEN EXISTS (SELECT 1 FROM "signoff" WHERE "job" = NEW."job" AND "bottle" = NEW."bottle") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_signoff_sealed BEFORE INSERT ON signoff WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_tally_update BEFORE UPDATE ON tally BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_tally_delete BEFORE DELETE ON tally BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_tally_replace BEFORE INSERT ON tally WHEN EXISTS (SELECT 1 FROM "tally" WHERE "id" = NEW."id") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_tally_sealed BEFORE INSERT ON tally WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_usage_update BEFORE UPDATE ON usage BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_usage_delete BEFORE DELETE ON usage BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_usage_replace BEFORE INSERT ON usage WHEN EXISTS (SELECT 1 FROM "usage" WHERE "job" = NEW."job" AND "item" = NEW."item") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_usage_sealed BEFORE INSERT ON usage WHEN EXISTS (SELECT 1 FROM seal WHERE job = NEW."job") BEGIN SELECT RAISE(ABORT, 'the job is sealed'); END;
CREATE TRIGGER guard_bottle_delete BEFORE DELETE ON bottle BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_bottle_replace BEFORE INSERT ON bottle WHEN EXISTS (SELECT 1 FROM "bottle" WHERE "code" = NEW."code") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_stocktake_delete BEFORE DELETE ON stocktake BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_stocktake_replace BEFORE INSERT ON stocktake WHEN EXISTS (SELECT 1 FROM "stocktake" WHERE "code" = NEW."code") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_waste_delete BEFORE DELETE ON waste BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_waste_replace BEFORE INSERT ON waste WHEN EXISTS (SELECT 1 FROM "waste" WHERE "code" = NEW."code") BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
COMMIT;
