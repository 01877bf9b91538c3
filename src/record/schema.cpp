// SPDX-License-Identifier: Apache-2.0
// The tables of docs/record.md.
#include "record/schema.hpp"

#include <array>

namespace isthmus::record {
namespace {

constexpr std::int64_t kApplication = 0x49737468;  // "Isth"

constexpr const char* kRunTables = R"sql(
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
) STRICT;
CREATE INDEX run_of_unit ON run (unit, design_hash, fixture_hash);
CREATE TABLE file_hash (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, place INTEGER NOT NULL,
  role TEXT NOT NULL, file TEXT NOT NULL, sha256 TEXT NOT NULL, PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE plan (
  run INTEGER PRIMARY KEY REFERENCES run ON DELETE CASCADE,
  placements_bound INTEGER NOT NULL, bound_reason TEXT NOT NULL,
  continuity_steps INTEGER NOT NULL, continuity_bound INTEGER NOT NULL,
  isolation_steps INTEGER NOT NULL, isolation_bound INTEGER NOT NULL,
  contact_steps INTEGER NOT NULL, pairs INTEGER NOT NULL, pairs_beyond_window INTEGER NOT NULL,
  contact_check INTEGER NOT NULL, wires INTEGER NOT NULL,
  contact_ohm REAL NOT NULL, contact_spread REAL NOT NULL
) STRICT;
CREATE TABLE placement (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, place INTEGER NOT NULL,
  name TEXT NOT NULL, side TEXT NOT NULL, cannot_tell TEXT NOT NULL,
  PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE placement_done (
  run INTEGER NOT NULL, place INTEGER NOT NULL, nth INTEGER NOT NULL,
  PRIMARY KEY (run, place), FOREIGN KEY (run, place) REFERENCES placement ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE TABLE probe (
  run INTEGER NOT NULL, place INTEGER NOT NULL, nth INTEGER NOT NULL,
  channel INTEGER NOT NULL, point INTEGER NOT NULL,
  x_nm INTEGER NOT NULL, y_nm INTEGER NOT NULL, twin INTEGER,
  PRIMARY KEY (run, place, nth), FOREIGN KEY (run, place) REFERENCES placement ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE TABLE plan_untested (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  net TEXT NOT NULL, points TEXT NOT NULL, why TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
)sql";

constexpr const char* kStepTables = R"sql(
CREATE TABLE step (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  id INTEGER NOT NULL, place INTEGER NOT NULL, kind TEXT NOT NULL,
  source TEXT NOT NULL, ret TEXT NOT NULL,
  sense_high INTEGER NOT NULL, sense_low INTEGER NOT NULL, reference INTEGER NOT NULL,
  groups TEXT NOT NULL, points TEXT NOT NULL, limit_ohm REAL NOT NULL, volts REAL NOT NULL,
  predicted_ohm REAL, predicted_uncertainty_ohm REAL,
  by_row1 INTEGER NOT NULL, block INTEGER NOT NULL, closing INTEGER NOT NULL,
  wanted INTEGER NOT NULL,
  PRIMARY KEY (run, nth), UNIQUE (run, id)
) STRICT, WITHOUT ROWID;
CREATE TABLE reading (
  run INTEGER NOT NULL, sequence INTEGER NOT NULL, step INTEGER NOT NULL,
  outcome TEXT NOT NULL CHECK (outcome IN ('value', 'over-range', 'none')),
  value REAL, uncertainty REAL, why TEXT, status INTEGER NOT NULL,
  PRIMARY KEY (run, sequence),
  FOREIGN KEY (run, step) REFERENCES step (run, id) ON DELETE CASCADE,
  CHECK ((outcome = 'value') = (value IS NOT NULL AND uncertainty IS NOT NULL)),
  CHECK ((outcome = 'none') = (why IS NOT NULL))
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
CREATE TABLE remark (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  text TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
)sql";

// Version 2: how many pairs were tested, and what was waived.
constexpr const char* kFrom1To2 = R"sql(
ALTER TABLE run ADD COLUMN pairs_required INTEGER NOT NULL DEFAULT 0;
ALTER TABLE run ADD COLUMN pairs_tested INTEGER NOT NULL DEFAULT 0;
ALTER TABLE run ADD COLUMN pairs_beyond_window INTEGER NOT NULL DEFAULT 0;
CREATE TABLE waiver (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  point TEXT NOT NULL, net TEXT NOT NULL, why TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
)sql";

// Version 3: what the copper was fitted to, and what the fit needs of a prediction.
constexpr const char* kFrom2To3 = R"sql(
ALTER TABLE step ADD COLUMN predicted_mesh_ohm REAL NOT NULL DEFAULT 0;
ALTER TABLE step ADD COLUMN predicted_ohm_per_nm REAL NOT NULL DEFAULT 0;
CREATE TABLE foil (
  run INTEGER PRIMARY KEY REFERENCES run ON DELETE CASCADE,
  thickness_nm INTEGER NOT NULL, thickness_sd_nm INTEGER NOT NULL,
  undercut_nm INTEGER NOT NULL, undercut_sd_nm INTEGER NOT NULL,
  readings INTEGER NOT NULL, at_bound INTEGER NOT NULL
) STRICT;
)sql";

// Version 4: from which side each probe touches, and which are clips (before, all touched the side
// of their placement); the list of possible faults, by whose rules (4; before it 3) the run was
// judged.
constexpr const char* kFrom3To4 = R"sql(
ALTER TABLE probe ADD COLUMN side TEXT NOT NULL DEFAULT 'top';
ALTER TABLE probe ADD COLUMN clip INTEGER NOT NULL DEFAULT 0;
UPDATE probe SET side =
  (SELECT side FROM placement WHERE placement.run = probe.run AND placement.place = probe.place);
ALTER TABLE run ADD COLUMN rules INTEGER NOT NULL DEFAULT 3;
CREATE TABLE possible_faults (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE,
  kind TEXT NOT NULL CHECK (kind IN ('break', 'bridge')),
  listed INTEGER NOT NULL, excluded INTEGER NOT NULL, harmless INTEGER NOT NULL,
  found INTEGER NOT NULL, cannot_tell INTEGER NOT NULL, waived INTEGER NOT NULL,
  unless_bridged INTEGER NOT NULL, parallel_joins INTEGER NOT NULL, likelihood_excluded REAL NOT NULL,
  PRIMARY KEY (run, kind)
) STRICT, WITHOUT ROWID;
CREATE TABLE cannot_tell (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  kind TEXT NOT NULL, nets TEXT NOT NULL, points TEXT NOT NULL,
  x_nm INTEGER NOT NULL, y_nm INTEGER NOT NULL, side TEXT NOT NULL, why TEXT NOT NULL,
  would_tell TEXT NOT NULL, would_tell_sides TEXT NOT NULL, would_tell_either TEXT NOT NULL,
  PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
)sql";

// Version 5: whether wires and tips were tried in the air.
constexpr const char* kFrom4To5 = R"sql(
ALTER TABLE placement ADD COLUMN tried_in_air INTEGER NOT NULL DEFAULT 0;
)sql";

// Version 6: landings of a needle, each a placement: of one round while the clips stay; copper that
// was reworked, of which placements before `place` say nothing.
constexpr const char* kFrom5To6 = R"sql(
ALTER TABLE placement ADD COLUMN round INTEGER;
ALTER TABLE placement ADD COLUMN taken_back TEXT NOT NULL DEFAULT '';
CREATE TABLE reworked (
  run INTEGER NOT NULL REFERENCES run ON DELETE CASCADE, nth INTEGER NOT NULL,
  place INTEGER NOT NULL, points TEXT NOT NULL, PRIMARY KEY (run, nth)
) STRICT, WITHOUT ROWID;
)sql";

// From version k to k + 1, k from 1.
constexpr std::array kSteps{kFrom1To2, kFrom2To3, kFrom3To4, kFrom4To5, kFrom5To6};
static_assert(kSchemaVersion == kSteps.size() + 1);

void run_steps_from(Sql& sql, std::int64_t version) {
  for (auto k = static_cast<std::size_t>(version); k <= kSteps.size(); ++k)
    sql.script(kSteps[k - 1]);
}

void bring_up_to_date(Sql& sql) {
  sql.run("BEGIN IMMEDIATE");
  // Another program may have been faster.
  const auto version = sql.number("PRAGMA user_version");
  run_steps_from(sql, version);
  if (version < kSchemaVersion) sql.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
  sql.run("COMMIT");
}

void create(Sql& sql) {
  sql.run("BEGIN IMMEDIATE");
  // Another program may have been faster.
  if (sql.number("PRAGMA user_version") == 0) {
    sql.script(kRunTables);
    sql.script(kStepTables);
    run_steps_from(sql, 1);
    sql.run("PRAGMA application_id = " + std::to_string(kApplication));
    sql.run("PRAGMA user_version = " + std::to_string(kSchemaVersion));
  }
  sql.run("COMMIT");
}

}  // namespace

void prepare_schema(Sql& sql, const std::filesystem::path& file) {
  const auto application = sql.number("PRAGMA application_id");
  const auto version = sql.number("PRAGMA user_version");
  const bool empty = sql.number("SELECT count(*) FROM sqlite_schema") == 0;
  if (sql.failed()) return;
  if (application != kApplication && !empty) {
    return sql.fail(record_problem("REC-002", file, "this is another program's database",
                                   "name another file with --record; this one was not changed"));
  }
  if (version > kSchemaVersion) {
    return sql.fail(record_problem("REC-003", file,
                                   "this record was written by a newer version of the program",
                                   "update the program; the record was not changed"));
  }
  sql.run("PRAGMA journal_mode = WAL");
  sql.run("PRAGMA synchronous = FULL");
  sql.run("PRAGMA foreign_keys = ON");
  if (empty)
    create(sql);
  else if (version < kSchemaVersion)
    bring_up_to_date(sql);
}

}  // namespace isthmus::record
