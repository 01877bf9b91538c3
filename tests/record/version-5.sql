PRAGMA application_id = 1232303208;
PRAGMA user_version = 5;
BEGIN TRANSACTION;
CREATE TABLE cannot_tell (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  kind TEXT NOT NULL, nets TEXT NOT NULL, points TEXT NOT NULL,
  x_nm INTEGER NOT NULL, y_nm INTEGER NOT NULL, side TEXT NOT NULL, why TEXT NOT NULL,
  would_tell TEXT NOT NULL, would_tell_sides TEXT NOT NULL, would_tell_either TEXT NOT NULL,
  PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
CREATE TABLE file_hash (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, place INTEGER NOT NULL,
  role TEXT NOT NULL, file TEXT NOT NULL, sha256 TEXT NOT NULL, PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE finding (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  kind TEXT NOT NULL, nets TEXT NOT NULL, measured_ohm REAL,
  limit_ohm REAL NOT NULL, uncertainty_ohm REAL NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
CREATE TABLE finding_part (
  run INTEGER NOT NULL, finding INTEGER NOT NULL, nth INTEGER NOT NULL, points TEXT NOT NULL,
  PRIMARY KEY (run, finding, nth),
  FOREIGN KEY (run, finding) REFERENCES finding ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE TABLE foil (
  run INTEGER PRIMARY KEY REFERENCES run ON DELETE CASCADE,
  thickness_nm INTEGER NOT NULL, thickness_sd_nm INTEGER NOT NULL,
  undercut_nm INTEGER NOT NULL, undercut_sd_nm INTEGER NOT NULL,
  readings INTEGER NOT NULL, at_bound INTEGER NOT NULL
) STRICT;
INSERT INTO "foil" VALUES(1,34200000,900000,16000,2000,40,0);
CREATE TABLE placement (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, place INTEGER NOT NULL,
  name TEXT NOT NULL, side TEXT NOT NULL, cannot_tell TEXT NOT NULL, tried_in_air INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
INSERT INTO "placement" VALUES(1,0,'A','top','',0);
INSERT INTO "placement" VALUES(1,1,'B','bottom','turned by 180 degrees
',1);
CREATE TABLE placement_done (
  run INTEGER NOT NULL, place INTEGER NOT NULL, nth INTEGER NOT NULL,
  PRIMARY KEY (run, place), FOREIGN KEY (run, place) REFERENCES placement ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
INSERT INTO "placement_done" VALUES(1,0,0);
CREATE TABLE plan (
  run INTEGER PRIMARY KEY REFERENCES run ON DELETE CASCADE,
  placements_bound INTEGER NOT NULL, bound_reason TEXT NOT NULL,
  continuity_steps INTEGER NOT NULL, continuity_bound INTEGER NOT NULL,
  isolation_steps INTEGER NOT NULL, isolation_bound INTEGER NOT NULL,
  contact_steps INTEGER NOT NULL, pairs INTEGER NOT NULL, pairs_beyond_window INTEGER NOT NULL,
  contact_check INTEGER NOT NULL, wires INTEGER NOT NULL,
  contact_ohm REAL NOT NULL, contact_spread REAL NOT NULL
) STRICT;
INSERT INTO "plan" VALUES(1,3,'64 channels, 117 points',120,118,9,8,20,412,900,1,4,0.05,1.0);
CREATE TABLE plan_untested (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  net TEXT NOT NULL, points TEXT NOT NULL, why TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
CREATE TABLE possible_faults (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE,
  kind TEXT NOT NULL CHECK (kind IN ('break', 'bridge')),
  listed INTEGER NOT NULL, excluded INTEGER NOT NULL, harmless INTEGER NOT NULL,
  found INTEGER NOT NULL, cannot_tell INTEGER NOT NULL, waived INTEGER NOT NULL,
  unless_bridged INTEGER NOT NULL, parallel_joins INTEGER NOT NULL, likelihood_excluded REAL NOT NULL,
  PRIMARY KEY (run, kind)
) STRICT, WITHOUT ROWID;
INSERT INTO "possible_faults" VALUES(1,'break',12,11,0,0,1,0,2,0,0.75);
INSERT INTO "possible_faults" VALUES(1,'bridge',3,3,0,0,0,0,0,0,0.75);
CREATE TABLE probe (
  run INTEGER NOT NULL, place INTEGER NOT NULL, nth INTEGER NOT NULL,
  channel INTEGER NOT NULL, point INTEGER NOT NULL,
  x_nm INTEGER NOT NULL, y_nm INTEGER NOT NULL, twin INTEGER, side TEXT NOT NULL DEFAULT 'top', clip INTEGER NOT NULL DEFAULT 0,
  PRIMARY KEY (run, place, nth), FOREIGN KEY (run, place) REFERENCES placement ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
INSERT INTO "probe" VALUES(1,0,0,1,0,12700000,8255000,5,'top',0);
INSERT INTO "probe" VALUES(1,0,1,2,3,15240000,8255000,NULL,'top',0);
INSERT INTO "probe" VALUES(1,1,0,1,7,2540000,-1000,NULL,'bottom',1);
CREATE TABLE reading (
  run INTEGER NOT NULL, sequence INTEGER NOT NULL, step INTEGER NOT NULL,
  outcome TEXT NOT NULL CHECK (outcome IN ('value', 'over-range', 'none')),
  value REAL, uncertainty REAL, why TEXT, status INTEGER NOT NULL,
  PRIMARY KEY (run, sequence),
  FOREIGN KEY (run, step) REFERENCES step (run, id) ON DELETE CASCADE,
  CHECK ((outcome = 'value') = (value IS NOT NULL AND uncertainty IS NOT NULL)),
  CHECK ((outcome = 'none') = (why IS NOT NULL))
) STRICT, WITHOUT ROWID;
INSERT INTO "reading" VALUES(1,0,1,'value',0.12,0.001,NULL,0);
CREATE TABLE remark (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  text TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
INSERT INTO "remark" VALUES(1,0,'the simulated board is the design itself');
CREATE TABLE run (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  started_utc TEXT NOT NULL, board TEXT NOT NULL, unit TEXT NOT NULL, stage TEXT NOT NULL,
  basis TEXT NOT NULL, board_file TEXT NOT NULL, fixture_file TEXT NOT NULL,
  adapter_address TEXT NOT NULL, adapter_name TEXT NOT NULL, adapter_serial TEXT NOT NULL,
  design_hash TEXT NOT NULL, fixture_hash TEXT NOT NULL, program_version TEXT NOT NULL,
  head_remarks TEXT NOT NULL,
  continuity_ohm REAL NOT NULL, isolation_ohm REAL NOT NULL, bridge_ohm REAL NOT NULL,
  excess_ohm REAL NOT NULL, test_volt REAL NOT NULL, window_nm INTEGER NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('running', 'done', 'broken off')),
  verdict TEXT NOT NULL CHECK (verdict IN ('pass', 'fail', 'incomplete')),
  required INTEGER NOT NULL, tested INTEGER NOT NULL, waived INTEGER NOT NULL,
  placements INTEGER NOT NULL, measurements INTEGER NOT NULL, seconds REAL NOT NULL,
  problem TEXT NOT NULL
, pairs_required INTEGER NOT NULL DEFAULT 0, pairs_tested INTEGER NOT NULL DEFAULT 0, pairs_beyond_window INTEGER NOT NULL DEFAULT 0, rules INTEGER NOT NULL DEFAULT 3) STRICT;
INSERT INTO "run" VALUES(1,'2026-05-04T10:20:30Z','tide-gauge','HC-0007','joined','netlist','/b/board.yaml','/b/f.yaml','serial:@HB0042','Harbour Bench Mux-64','HB0042','d0','f0','0.1.0','',10.0,10000000.0,100000.0,1.0,10.0,1270000,'done','pass',118,117,1,3,151,1.9,'',0,0,0,4);
CREATE TABLE step (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  id INTEGER NOT NULL, place INTEGER NOT NULL, kind TEXT NOT NULL,
  source TEXT NOT NULL, ret TEXT NOT NULL,
  sense_high INTEGER NOT NULL, sense_low INTEGER NOT NULL, reference INTEGER NOT NULL,
  groups TEXT NOT NULL, points TEXT NOT NULL, limit_ohm REAL NOT NULL, volts REAL NOT NULL,
  predicted_ohm REAL, predicted_uncertainty_ohm REAL,
  by_row1 INTEGER NOT NULL, block INTEGER NOT NULL, closing INTEGER NOT NULL,
  wanted INTEGER NOT NULL, predicted_mesh_ohm REAL NOT NULL DEFAULT 0, predicted_ohm_per_nm REAL NOT NULL DEFAULT 0,
  PRIMARY KEY (run, nth), UNIQUE (run, id)
) STRICT, WITHOUT ROWID;
INSERT INTO "step" VALUES(1,0,1,0,'continuity','1','2',0,0,0,'4','0 3',10.0,0.0,0.0197,0.004,1,1,0,0,0.001,5.0e-07);
CREATE TABLE suspect (
  run INTEGER NOT NULL, finding INTEGER NOT NULL, nth INTEGER NOT NULL,
  rank INTEGER NOT NULL, x_nm INTEGER NOT NULL, y_nm INTEGER NOT NULL, side TEXT NOT NULL,
  likelihood REAL NOT NULL, path TEXT NOT NULL, nets TEXT NOT NULL,
  separates_a INTEGER, separates_b INTEGER, why TEXT NOT NULL,
  PRIMARY KEY (run, finding, nth),
  FOREIGN KEY (run, finding) REFERENCES finding ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE TABLE untested (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  net TEXT NOT NULL, points TEXT NOT NULL, why TEXT NOT NULL, detail TEXT NOT NULL,
  PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
CREATE TABLE waiver (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  point TEXT NOT NULL, net TEXT NOT NULL, why TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
CREATE INDEX run_of_unit ON run (unit, design_hash, fixture_hash);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('run',1);
COMMIT;
