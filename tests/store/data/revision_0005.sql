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
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0005');
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
	status TEXT NOT NULL, 
	CONSTRAINT pk_booking PRIMARY KEY (code), 
	CONSTRAINT ck_booking_status CHECK (status IN ('booked', 'done', 'cancelled')), 
	CONSTRAINT ck_booking_showings CHECK (showings > 0)
);
INSERT INTO "booking" VALUES('B1','2027-01-20','2','L1','A. Example','agar-diffusion',1,'booked');
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
INSERT INTO "bottle" VALUES('Q7Z3','sodium-chloride','mass',400000000,'in service','PREP','2027-01-11','2027-01-11','2030-01-31','L1',NULL,NULL,NULL,'','',NULL,NULL,NULL);
INSERT INTO "bottle" VALUES('J2W2','urea','mass',0,'discarded','PREP','2027-01-11',NULL,'2030-01-31','L1',NULL,NULL,NULL,'','',NULL,NULL,NULL);
INSERT INTO "bottle" VALUES('C9K9','urea','mass',250000000,'in service','PREP','2027-01-11',NULL,NULL,'L2',NULL,NULL,NULL,'','',NULL,NULL,NULL);
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
INSERT INTO "change" VALUES(164,1,'location','PREP','*',NULL,'{"code":"PREP","name":"Prep room","note":"","walk_order":"1"}');
INSERT INTO "change" VALUES(367,1,'setting','minutes_on','*',NULL,'{"key":"minutes_on","value":"{}"}');
INSERT INTO "change" VALUES(368,1,'setting','minutes_per_day','*',NULL,'{"key":"minutes_per_day","value":"240"}');
INSERT INTO "change" VALUES(369,1,'setting','school','*',NULL,'{"key":"school","value":"\"\""}');
INSERT INTO "change" VALUES(370,1,'setting','weekdays','*',NULL,'{"key":"weekdays","value":"[0, 1, 2, 3, 4]"}');
INSERT INTO "change" VALUES(864,2,'bottle','Q7Z3','*',NULL,'{"code":"Q7Z3","cost":null,"full":null,"item":"sodium-chloride","location":"PREP","lot":"L1","made_by":"","measure":"mass","note":"","opened":null,"received":"2027-01-11","status":"in service","strength":null,"strength_uncertainty_pct":null,"supplier":null,"tare":null,"use_by":"2030-01-31"}');
INSERT INTO "change" VALUES(865,3,'bottle','J2W2','*',NULL,'{"code":"J2W2","cost":null,"full":null,"item":"urea","location":"PREP","lot":"L1","made_by":"","measure":"mass","note":"","opened":null,"received":"2027-01-11","status":"in service","strength":null,"strength_uncertainty_pct":null,"supplier":null,"tare":null,"use_by":"2030-01-31"}');
INSERT INTO "change" VALUES(866,4,'bottle','Q7Z3','opened',NULL,'2027-01-11');
INSERT INTO "change" VALUES(867,7,'bottle','J2W2','status','in service','discarded');
INSERT INTO "change" VALUES(868,8,'purchase','P1','*',NULL,'{"by":"Ada","code":"P1","due":"2027-01-18","item":"urea","pack":"250000000","packs":"1","placed":"2027-01-11","status":"placed"}');
INSERT INTO "change" VALUES(869,9,'bottle','C9K9','*',NULL,'{"code":"C9K9","cost":null,"full":null,"item":"urea","location":"PREP","lot":"L2","made_by":"","measure":"mass","note":"","opened":null,"received":"2027-01-11","status":"in service","strength":null,"strength_uncertainty_pct":null,"supplier":null,"tare":null,"use_by":null}');
INSERT INTO "change" VALUES(870,9,'purchase','P1','status','placed','arrived');
INSERT INTO "change" VALUES(871,10,'booking','B1','*',NULL,'{"code":"B1","demo":"agar-diffusion","on":"2027-01-20","period":"2","room":"L1","showings":"1","status":"booked","teacher":"A. Example"}');
INSERT INTO "change" VALUES(872,11,'stocktake','C1','*',NULL,'{"blind":"0","closed_by":null,"closed_on":null,"code":"C1","job":null,"location":"","opened_by":"Ada","opened_on":"2027-01-11","status":"open"}');
INSERT INTO "change" VALUES(873,13,'stocktake','C1','status','open','closed');
INSERT INTO "change" VALUES(874,13,'stocktake','C1','closed_on',NULL,'2027-01-11');
INSERT INTO "change" VALUES(875,13,'stocktake','C1','closed_by',NULL,'Ada');
INSERT INTO "change" VALUES(876,13,'stocktake','C1','job',NULL,'13');
INSERT INTO "change" VALUES(877,14,'demo','agar-diffusion','*','{"about":"Pink cubes of three sizes in acid: the small ones are clear first.","ask_first":"","caution":"Goggles; a blunt blade on a tile.","code":"agar-diffusion","kind":"class practical","leftover":[],"name":"Diffusion into agar cubes","need":[],"source":"common practice, no source","spare":"0.1"}','{"about":"Pink cubes of three sizes in acid: the small ones are clear first.","ask_first":"","caution":"Goggles; a blunt blade on a tile.","code":"agar-diffusion","kind":"class practical","leftover":[],"name":"Diffusion into agar cubes","need":[],"source":"common practice, no source","spare":"0.1"}');
INSERT INTO "change" VALUES(878,14,'substance','sodium-chloride','*','{"assay_pct":"99.5","cas":"7647-14-5","classification":"not classified","code":"sodium-chloride","density_g_ml":null,"disposal":"drain","flash_point_c":null,"form":"solid","formula":"NaCl","name":"Sodium chloride","other_names":"common salt;salt;table salt;cooking salt","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"35.89","solute":"sodium-chloride","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\"}","storage_group":"low_hazard","supplemental":""}','{"assay_pct":"99.5","cas":"7647-14-5","classification":"not classified","code":"sodium-chloride","density_g_ml":null,"disposal":"drain","flash_point_c":null,"form":"solid","formula":"NaCl","name":"Sodium chloride","other_names":"common salt;salt;table salt;cooking salt","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"35.89","solute":"sodium-chloride","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\"}","storage_group":"low_hazard","supplemental":""}');
INSERT INTO "change" VALUES(879,14,'substance','urea','*','{"assay_pct":"99","cas":"57-13-6","classification":"not classified","code":"urea","density_g_ml":null,"disposal":"drain","flash_point_c":null,"form":"solid","formula":"CO(NH2)2","name":"Urea","other_names":"carbamide","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"108","solute":"urea","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\"}","storage_group":"low_hazard","supplemental":""}','{"assay_pct":"99","cas":"57-13-6","classification":"not classified","code":"urea","density_g_ml":null,"disposal":"drain","flash_point_c":null,"form":"solid","formula":"CO(NH2)2","name":"Urea","other_names":"carbamide","peroxide_class":"","solubility_c":"20","solubility_g_per_100g":"108","solute":"urea","sources":"{\"identity\": \"CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source\", \"assay\": \"common practice, no source: usual minimum assay on laboratory reagent labels\", \"solubility\": \"from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water\", \"hazard\": \"not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments\"}","storage_group":"low_hazard","supplemental":""}');
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
	source TEXT NOT NULL, kind TEXT DEFAULT 'demonstration' NOT NULL, ask_first TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_demo PRIMARY KEY (code)
);
INSERT INTO "demo" VALUES('agar-diffusion','Diffusion into agar cubes','0.1','Pink cubes of three sizes in acid: the small ones are clear first.','Goggles; a blunt blade on a tile.','common practice, no source','class practical','');
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
INSERT INTO "job" VALUES(1,'opening','Ada','2026-11-29T17:45:58+00:00','2027-01-11','the shipped catalogue',NULL);
INSERT INTO "job" VALUES(2,'receive','Ada','2026-11-29T17:45:59+00:00','2027-01-11','',NULL);
INSERT INTO "job" VALUES(3,'receive','Ada','2026-11-29T17:46:00+00:00','2027-01-11','',NULL);
INSERT INTO "job" VALUES(4,'use','Ada','2026-11-29T17:46:00+00:00','2027-01-11','for a demo',NULL);
INSERT INTO "job" VALUES(5,'use','Ben','2026-11-29T17:46:00+00:00','2027-01-11','wrong bottle',NULL);
INSERT INTO "job" VALUES(6,'undo','Ada','2026-11-29T17:46:00+00:00','2027-01-11','undoes job 5 (use)',5);
INSERT INTO "job" VALUES(7,'discard','Ben','2026-11-29T17:46:00+00:00','2027-01-11','J2W2: lumps',NULL);
INSERT INTO "job" VALUES(8,'catalogue','root','2026-11-29T17:46:01+00:00','2026-11-29','purchase',NULL);
INSERT INTO "job" VALUES(9,'arrive','Ada','2026-11-29T17:46:01+00:00','2027-01-11','order P1',NULL);
INSERT INTO "job" VALUES(10,'catalogue','root','2026-11-29T17:46:02+00:00','2026-11-29','booking',NULL);
INSERT INTO "job" VALUES(11,'count open','Ada','2026-11-29T17:46:03+00:00','2027-01-11','count C1 of all places',NULL);
INSERT INTO "job" VALUES(12,'tally','Ben','2026-11-29T17:46:04+00:00','2027-01-11','count C1: Q7Z3',NULL);
INSERT INTO "job" VALUES(13,'count','Ada','2026-11-29T17:46:04+00:00','2027-01-11','C1: count of all places',NULL);
INSERT INTO "job" VALUES(14,'upgrade','root','2026-11-29T17:46:05+00:00','2026-11-29','what the stored inventory keeps',NULL);
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
INSERT INTO "movement" VALUES(1,2,'Q7Z3',500000000,'received',NULL);
INSERT INTO "movement" VALUES(2,3,'J2W2',500000000,'received',NULL);
INSERT INTO "movement" VALUES(3,4,'Q7Z3',-12500000,'for a demo',NULL);
INSERT INTO "movement" VALUES(4,5,'Q7Z3',-1000000,'wrong bottle',NULL);
INSERT INTO "movement" VALUES(5,6,'Q7Z3',1000000,'undo: wrong bottle',4);
INSERT INTO "movement" VALUES(6,7,'J2W2',-500000000,'lumps',NULL);
INSERT INTO "movement" VALUES(7,9,'C9K9',250000000,'arrived, order P1',NULL);
INSERT INTO "movement" VALUES(8,13,'Q7Z3',-87500000,'count C1: 87.5 g less than the books; measuring explains 29 g at most',NULL);
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
	note TEXT NOT NULL, shared INTEGER DEFAULT '0' NOT NULL, 
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
CREATE TABLE seal (
	job INTEGER NOT NULL, 
	digest TEXT NOT NULL, 
	CONSTRAINT pk_seal PRIMARY KEY (job), 
	CONSTRAINT fk_seal_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "seal" VALUES(1,'82efa02ac819355adada495ce23248c3dc29c425ab1b8b3c91c95a8f10bdb63f');
INSERT INTO "seal" VALUES(2,'5c4943a83cfde4e1693016551cd3b2a8461f7c13ab3e453e45077e2025db8cb8');
INSERT INTO "seal" VALUES(3,'c3242bb91812239f90ab05f56d4fb600e0a3b5748c846930bdb9612faa48222b');
INSERT INTO "seal" VALUES(4,'24b856c3ffb6dadaddead3701cff2f12f763a6ee4be625cad5f6a85cde857326');
INSERT INTO "seal" VALUES(5,'8937bcb49df709423f5a2693ef18dda8d1887ce3debb7606208177433faae0f9');
INSERT INTO "seal" VALUES(6,'cbf0e6a76bafe83995afe72f14a8ce9d295b8a94b4a4a4f5a7ee46359d0b82fb');
INSERT INTO "seal" VALUES(7,'7d6bcf2278a24e44795792da827b11415679e3229383caf69fb537881fbfa5ab');
INSERT INTO "seal" VALUES(8,'eee16e95844135c15c1b733cdc9a13054a399230cd2822d20fb95377ff42d4a6');
INSERT INTO "seal" VALUES(9,'03325eb1a71084c8feffe1bd1232555441f6fda9c69f513e43ba54fcc385be8d');
INSERT INTO "seal" VALUES(10,'894ef767fb2c01965bf5f49c1971f329052a221707e0fd17d9bac6ff23bc68b1');
INSERT INTO "seal" VALUES(11,'d16ac8b0698dc80beecc7f6eabcbf5a6583341c75ff32d8e4cf34acb57f84409');
INSERT INTO "seal" VALUES(12,'5e509bf7efa7cab3fd12d7492964500946471d8706d2b837fc8e3b8b3201b44f');
INSERT INTO "seal" VALUES(13,'9ed5b58928c37b692e7a0a11ecd6a6c32842c3b0b46872d92b11a682934bb359');
INSERT INTO "seal" VALUES(14,'c746bca383c95907dab0d9ca6684d2769f2d0f39d0f279f891a5ca9a377c3d25');
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
INSERT INTO "signoff" VALUES(13,'C1','Q7Z3',487500000,400000000,-87500000,'11547005.383792516',1,1,'87.5 g less than the books; measuring explains 29 g at most');
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
	sources TEXT NOT NULL, 
	CONSTRAINT pk_substance PRIMARY KEY (code)
);
INSERT INTO "substance" VALUES('sodium-chloride','Sodium chloride','NaCl','sodium-chloride','solid','common salt;salt;table salt;cooking salt','7647-14-5','99.5',NULL,'35.89','20','not classified','',NULL,'low_hazard','drain','','{"identity": "CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source", "assay": "common practice, no source: usual minimum assay on laboratory reagent labels", "solubility": "CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)", "hazard": "not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments"}');
INSERT INTO "substance" VALUES('urea','Urea','CO(NH2)2','urea','solid','carbamide','57-13-6','99',NULL,'108','20','not classified','',NULL,'low_hazard','drain','','{"identity": "CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source", "assay": "common practice, no source: usual minimum assay on laboratory reagent labels", "solubility": "from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water", "hazard": "not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments"}');
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
	CONSTRAINT fk_tally_stocktake FOREIGN KEY(stocktake) REFERENCES stocktake (code), 
	CONSTRAINT ck_tally_kind CHECK (kind IN ('counted', 'not found', 'found')), 
	CONSTRAINT fk_tally_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "tally" VALUES(1,'C1','Q7Z3','counted',1,'sodium-chloride','',400000000,'{"by": "amount", "amount": 400000000}','',7,'Ben','2026-11-29T17:46:04+00:00',12);
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
CREATE INDEX ix_change_job ON change (job);
CREATE INDEX ix_change_kind_code ON change (kind, code);
CREATE INDEX ix_tally_stocktake_bottle ON tally (stocktake, bottle);
CREATE INDEX ix_tally_job ON tally (job);
CREATE INDEX ix_signoff_bottle ON signoff (bottle);
CREATE INDEX ix_count_report_stocktake ON count_report (stocktake);
CREATE INDEX ix_residue_job ON residue (job);
CREATE INDEX ix_residue_waste ON residue (waste);
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
