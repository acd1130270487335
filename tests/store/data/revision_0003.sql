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
INSERT INTO "alembic_version" VALUES('0003');
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
	note TEXT NOT NULL, 
	CONSTRAINT pk_bottle PRIMARY KEY (code), 
	CONSTRAINT ck_bottle_measure CHECK (measure IN ('mass', 'volume')), 
	CONSTRAINT ck_bottle_status CHECK (status IN ('in service', 'quarantine', 'discarded')), 
	CONSTRAINT ck_bottle_balance_not_below_zero CHECK (balance >= 0), 
	CONSTRAINT fk_bottle_location FOREIGN KEY(location) REFERENCES location (code)
);
INSERT INTO "bottle" VALUES('H4G6','sodium-chloride','mass',400000000,'in service','PREP','2027-01-11','2027-01-11','2030-01-31','L1',NULL,NULL,NULL,'','');
INSERT INTO "bottle" VALUES('V8V9','urea','mass',0,'discarded','PREP','2027-01-11',NULL,'2030-01-31','L1',NULL,NULL,NULL,'','');
INSERT INTO "bottle" VALUES('W6Q3','urea','mass',250000000,'in service','PREP','2027-01-11',NULL,NULL,'L2',NULL,NULL,NULL,'','');
CREATE TABLE change (
	id INTEGER NOT NULL, 
	job INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	code TEXT NOT NULL, 
	field TEXT NOT NULL, 
	"before" TEXT, 
	"after" TEXT, 
	CONSTRAINT pk_change PRIMARY KEY (id), 
	CONSTRAINT ck_change_kind CHECK (kind IN ('bottle', 'purchase', 'booking', 'stocktake')), 
	CONSTRAINT fk_change_job FOREIGN KEY(job) REFERENCES job (id)
);
INSERT INTO "change" VALUES(1,1,'bottle','H4G6','status',NULL,'in service');
INSERT INTO "change" VALUES(2,2,'bottle','V8V9','status',NULL,'in service');
INSERT INTO "change" VALUES(3,3,'bottle','H4G6','opened',NULL,'2027-01-11');
INSERT INTO "change" VALUES(4,6,'bottle','V8V9','status','in service','discarded');
INSERT INTO "change" VALUES(5,7,'bottle','W6Q3','status',NULL,'in service');
INSERT INTO "change" VALUES(6,7,'purchase','P1','status','placed','arrived');
INSERT INTO "change" VALUES(7,8,'stocktake','C1','status','open','closed');
INSERT INTO "change" VALUES(8,8,'stocktake','C1','closed_on',NULL,'2027-01-11');
INSERT INTO "change" VALUES(9,8,'stocktake','C1','closed_by',NULL,'Ada');
INSERT INTO "change" VALUES(10,8,'stocktake','C1','job',NULL,'8');
CREATE TABLE closed (
	"on" DATE NOT NULL, 
	why TEXT NOT NULL, 
	CONSTRAINT pk_closed PRIMARY KEY ("on")
);
CREATE TABLE demo (
	code TEXT NOT NULL, 
	name TEXT NOT NULL, 
	spare TEXT NOT NULL, 
	about TEXT NOT NULL, 
	caution TEXT NOT NULL, 
	source TEXT NOT NULL, 
	CONSTRAINT pk_demo PRIMARY KEY (code)
);
INSERT INTO "demo" VALUES('agar-diffusion','Diffusion into agar cubes','0.1','Pink cubes of three sizes in acid: the small ones are clear first.','Goggles; a blunt blade on a tile.','common practice, no source');
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
INSERT INTO "job" VALUES(1,'receive','Ada','2026-11-29T17:30:51+00:00','2027-01-11','',NULL);
INSERT INTO "job" VALUES(2,'receive','Ada','2026-11-29T17:30:51+00:00','2027-01-11','',NULL);
INSERT INTO "job" VALUES(3,'use','Ada','2026-11-29T17:30:51+00:00','2027-01-11','for a demo',NULL);
INSERT INTO "job" VALUES(4,'use','Ben','2026-11-29T17:30:51+00:00','2027-01-11','wrong bottle',NULL);
INSERT INTO "job" VALUES(5,'undo','Ada','2026-11-29T17:30:52+00:00','2027-01-11','undoes job 4 (use)',4);
INSERT INTO "job" VALUES(6,'discard','Ben','2026-11-29T17:30:52+00:00','2027-01-11','V8V9: lumps',NULL);
INSERT INTO "job" VALUES(7,'arrive','Ada','2026-11-29T17:30:52+00:00','2027-01-11','order P1',NULL);
INSERT INTO "job" VALUES(8,'count','Ada','2026-11-29T17:30:54+00:00','2027-01-11','C1: count of all places',NULL);
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
INSERT INTO "movement" VALUES(1,1,'H4G6',500000000,'received',NULL);
INSERT INTO "movement" VALUES(2,2,'V8V9',500000000,'received',NULL);
INSERT INTO "movement" VALUES(3,3,'H4G6',-12500000,'for a demo',NULL);
INSERT INTO "movement" VALUES(4,4,'H4G6',-1000000,'wrong bottle',NULL);
INSERT INTO "movement" VALUES(5,5,'H4G6',1000000,'undo: wrong bottle',4);
INSERT INTO "movement" VALUES(6,6,'V8V9',-500000000,'lumps',NULL);
INSERT INTO "movement" VALUES(7,7,'W6Q3',250000000,'arrived, order P1',NULL);
INSERT INTO "movement" VALUES(8,8,'H4G6',-87500000,'count C1: 87.5 g less than the books; measuring explains 29 g at most',NULL);
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
	note TEXT NOT NULL, 
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
CREATE TABLE rule (
	item TEXT NOT NULL, 
	minimum BIGINT NOT NULL, 
	packs TEXT NOT NULL, 
	lead_days INTEGER NOT NULL, 
	CONSTRAINT pk_rule PRIMARY KEY (item)
);
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
	stocktake TEXT NOT NULL, 
	bottle TEXT NOT NULL, 
	book BIGINT NOT NULL, 
	counted BIGINT NOT NULL, 
	adjust BIGINT NOT NULL, 
	u_after TEXT NOT NULL, 
	flagged INTEGER NOT NULL, 
	found INTEGER NOT NULL, 
	says TEXT NOT NULL, 
	CONSTRAINT pk_signoff PRIMARY KEY (stocktake, bottle), 
	CONSTRAINT fk_signoff_bottle FOREIGN KEY(bottle) REFERENCES bottle (code), 
	CONSTRAINT fk_signoff_stocktake FOREIGN KEY(stocktake) REFERENCES stocktake (code)
);
INSERT INTO "signoff" VALUES('C1','H4G6',487500000,400000000,-87500000,'11547005.383792516',1,1,'87.5 g less than the books; measuring explains 29 g at most');
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
INSERT INTO "stocktake" VALUES('C1','',0,'closed','2027-01-11','Ada','2027-01-11','Ada',8);
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
INSERT INTO "substance" VALUES('sodium-chloride','Sodium chloride','NaCl','sodium-chloride','solid','common salt','7647-14-5','99.5',NULL,'35.89','20','not classified','',NULL,'low_hazard','drain','','{"identity": "CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source", "assay": "common practice, no source: usual minimum assay on laboratory reagent labels", "solubility": "CRC Handbook of Chemistry and Physics, 91st ed. (2010), Aqueous Solubility of Inorganic Compounds at Various Temperatures, pp. 8-112 to 8-117, as transcribed in a public data set (mass % turned into g per 100 g of water)", "hazard": "not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments"}');
INSERT INTO "substance" VALUES('urea','Urea','CO(NH2)2','urea','solid','carbamide','57-13-6','99',NULL,'108','20','not classified','',NULL,'low_hazard','drain','','{"identity": "CAS number and formula agree with PubChem (identifier tables of the library chemicals 1.5.2); storage group: plain GHS-derived groups after EPA-600/2-80-076 (1980); disposal: common practice, no source", "assay": "common practice, no source: usual minimum assay on laboratory reagent labels", "solubility": "from memory: Lange''s Handbook of Chemistry, 15th ed., solubilities of inorganic and organic compounds in water", "hazard": "not classified: no entry of its own, of its anhydrous form or of a group in the agency''s table (Annex VI to Regulation (EC) No 1272/2008, up to the 23rd adaptation), and none in the lists of Australia''s and Japan''s governments"}');
CREATE TABLE tally (
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
	CONSTRAINT pk_tally PRIMARY KEY (id), 
	CONSTRAINT ck_tally_kind CHECK (kind IN ('counted', 'not found', 'found')), 
	CONSTRAINT fk_tally_stocktake FOREIGN KEY(stocktake) REFERENCES stocktake (code)
);
INSERT INTO "tally" VALUES(1,'C1','H4G6','counted',1,'sodium-chloride','',400000000,'{"by": "amount", "amount": 400000000}','',7,'Ben','2026-11-29T17:30:54+00:00');
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
CREATE INDEX ix_booking_on ON booking ("on");
CREATE INDEX ix_bottle_item ON bottle (item);
CREATE INDEX ix_change_kind_code ON change (kind, code);
CREATE INDEX ix_change_job ON change (job);
CREATE INDEX ix_movement_bottle_amount_job ON movement (bottle, amount, job);
CREATE INDEX ix_movement_job ON movement (job);
CREATE INDEX ix_usage_booking ON usage (booking);
CREATE INDEX ix_tally_stocktake_bottle ON tally (stocktake, bottle);
CREATE INDEX ix_signoff_bottle ON signoff (bottle);
CREATE TRIGGER guard_job_update BEFORE UPDATE ON job BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_job_delete BEFORE DELETE ON job BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_movement_update BEFORE UPDATE ON movement BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_movement_delete BEFORE DELETE ON movement BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_change_update BEFORE UPDATE ON change BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_change_delete BEFORE DELETE ON change BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_batch_update BEFORE UPDATE ON batch BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_batch_delete BEFORE DELETE ON batch BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_usage_update BEFORE UPDATE ON usage BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_usage_delete BEFORE DELETE ON usage BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_tally_update BEFORE UPDATE ON tally BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_tally_delete BEFORE DELETE ON tally BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE INDEX ix_invitation_person ON invitation (person);
CREATE INDEX ix_session_person ON session (person);
CREATE INDEX ix_token_person ON token (person);
CREATE TRIGGER guard_access_log_update BEFORE UPDATE ON access_log BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
CREATE TRIGGER guard_access_log_delete BEFORE DELETE ON access_log BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END;
COMMIT;
