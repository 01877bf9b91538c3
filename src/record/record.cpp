// SPDX-License-Identifier: Apache-2.0
#include "isthmus/record/record.hpp"

#include <chrono>

#include "record/rows.hpp"
#include "record/schema.hpp"

namespace isthmus::record {
namespace {

using Clock = std::chrono::steady_clock;

// What a power cut may cost at most.
constexpr std::chrono::milliseconds kOldest{500};
constexpr std::size_t kMost = 200;

Problem no_such_run(const std::filesystem::path& file, RunId run) {
  return record_problem("REC-007", file, "there is no run " + std::to_string(run),
                        "`isthmus history` lists the runs");
}

}  // namespace

struct Record::Database {
  std::filesystem::path file;
  std::unique_ptr<Sql> sql;
  Clock::time_point since{};  // of the open transaction
  std::size_t pending{};

  // Steps and readings gather in one transaction until it is old or large enough.
  void gather() {
    if (sql->in_transaction()) return;
    sql->run("BEGIN IMMEDIATE");
    since = Clock::now();
    pending = 0;
  }
  void commit() {
    if (sql->in_transaction()) sql->run("COMMIT");
  }
  void commit_when_due() {
    if (++pending >= kMost || Clock::now() - since >= kOldest) commit();
  }
  Result<Done> done() {
    if (auto failure = sql->take_failure()) return *failure;
    return Done{};
  }
  // All of `work` or nothing of it; what was gathered before is kept in any case.
  template <class Work>
  Result<Done> whole(Work work) {
    commit();
    sql->run("BEGIN IMMEDIATE");
    work();
    sql->run("COMMIT");
    auto failure = sql->take_failure();
    if (!failure) return Done{};
    if (sql->in_transaction()) sql->run("ROLLBACK");
    static_cast<void>(sql->take_failure());  // the first reason is the one to tell
    return *failure;
  }
};

Record::Record() : db_(std::make_unique<Database>()) {}

Record::~Record() {
  if (db_->sql) db_->commit();
}

Result<std::unique_ptr<Record>> Record::open(const std::filesystem::path& file) {
  auto sql = Sql::open(file);
  if (!sql) return sql.problem();
  prepare_schema(**sql, file);
  if (auto failure = (*sql)->take_failure()) return *failure;
  std::unique_ptr<Record> record(new Record);
  record->db_->file = file;
  record->db_->sql = std::move(*sql);
  return record;
}

Result<RunId> Record::begin(const RunHead& head, const plan::Plan& plan) {
  RunId run{};
  auto begun = db_->whole([&] {
    run = insert_run(*db_->sql, head);
    insert_plan(*db_->sql, run, plan);
  });
  if (!begun) return begun.problem();
  return run;
}

Result<Done> Record::add_steps(RunId run, const std::vector<plan::Step>& steps) {
  db_->gather();
  insert_steps(*db_->sql, run, steps);
  db_->commit_when_due();
  return db_->done();
}

Result<Done> Record::add_predictions(RunId run, const std::vector<plan::Step>& steps) {
  db_->gather();
  for (const plan::Step& step : steps) update_prediction(*db_->sql, run, step);
  db_->commit_when_due();
  return db_->done();
}

Result<Done> Record::add_reading(RunId run, const plan::Reading& reading) {
  db_->gather();
  insert_reading(*db_->sql, run, reading);
  db_->commit_when_due();
  return db_->done();
}

Result<Done> Record::flush(RunId) {
  db_->commit();
  return db_->done();
}

Result<Done> Record::add_placement(RunId run, std::size_t place, const plan::Placement& placement) {
  db_->gather();
  insert_placement(*db_->sql, run, place, placement);
  db_->commit_when_due();
  return db_->done();
}

Result<Done> Record::take_back(RunId run, std::size_t place, const std::string& why) {
  db_->gather();
  db_->sql->run("UPDATE placement SET taken_back = ? WHERE run = ? AND place = ?", why, run, place);
  db_->commit_when_due();
  return db_->done();
}

Result<Done> Record::add_rework(RunId run, std::size_t nth, const plan::Reworked& reworked) {
  db_->gather();
  insert_rework(*db_->sql, run, nth, reworked);
  db_->commit();
  return db_->done();
}

Result<Done> Record::tried_in_air(RunId run, std::size_t placement) {
  db_->gather();
  db_->sql->run("UPDATE placement SET tried_in_air = 1 WHERE run = ? AND place = ?", run,
                placement);
  return db_->done();
}

Result<Done> Record::placement_done(RunId run, std::size_t placement) {
  db_->gather();
  db_->sql->run(
      "INSERT OR IGNORE INTO placement_done (run, place, nth) "
      "SELECT ?, ?, count(*) FROM placement_done WHERE run = ?",
      run, placement, run);
  db_->commit();
  return db_->done();
}

Result<Done> Record::finish(RunId run, const RunResult& result) {
  return db_->whole([&] {
    if (!select_head(*db_->sql, run)) db_->sql->fail(no_such_run(db_->file, run));
    replace_result(*db_->sql, run, result);
  });
}

Result<StoredRun> Record::load(RunId run) const {
  Sql& sql = *db_->sql;
  const auto head = select_head(sql, run);
  if (auto failure = sql.take_failure()) return *failure;
  if (!head) {
    return no_such_run(db_->file, run);
  }
  StoredRun out{
      *head, select_result(sql, run), select_plan(sql, run), select_readings(sql, run), {}};
  sql.each(
      "SELECT place FROM placement_done WHERE run = ? ORDER BY nth",
      [&](const Row& row) { out.placements_done.push_back(row.as(0)); }, run);
  if (auto failure = sql.take_failure()) {
    if (failure->file.empty()) failure->file = db_->file.string();
    return *failure;
  }
  return out;
}

Result<std::vector<RunHead>> Record::history(const std::string& unit) const {
  auto heads = select_heads(*db_->sql, unit);
  if (auto failure = db_->sql->take_failure()) return *failure;
  return heads;
}

Result<std::optional<RunId>> Record::unfinished(const RunHead& like) const {
  // The newest run of its kind, if that one is unfinished: an older one has been overtaken, and its
  // readings no longer speak of the board as it is.
  std::optional<RunId> out;
  db_->sql->each(
      "SELECT id, state FROM run WHERE rules = 4 AND unit = ? AND board = ? AND stage = ? AND "
      "design_hash = ? AND fixture_hash = ? ORDER BY id DESC LIMIT 1",
      [&](const Row& row) {
        if (row.text(1) != "done") out = row.whole(0);
      },
      like.unit, like.board, like.stage, like.design_hash, like.fixture_hash);
  if (auto failure = db_->sql->take_failure()) return *failure;
  return out;
}

}  // namespace isthmus::record
