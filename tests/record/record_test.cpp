// SPDX-License-Identifier: Apache-2.0
// Oracle: what was put in (every double by its bits), and SQLite itself where a file must be of
// another kind.
#include "isthmus/record/record.hpp"

#include <gtest/gtest.h>
#include <signal.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>

#include "tests/record/sample_run.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::record {
namespace {

using test::sample_head;
using test::sample_plan;
using test::text_of;

class RecordTest : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    dir_ = std::filesystem::temp_directory_path() /
           fmt::format("isthmus-record-{}-{}", info->name(), ::getpid());
    std::filesystem::create_directories(dir_);
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  [[nodiscard]] std::filesystem::path file() const { return dir_ / "bench.isthmus"; }
  [[nodiscard]] std::unique_ptr<Record> opened() const {
    auto record = Record::open(file());
    EXPECT_TRUE(record) << (record ? "" : format(record.problem()));
    return record ? std::move(*record) : nullptr;
  }
  [[nodiscard]] std::string code_of_opening() const {
    const auto record = Record::open(file());
    return record ? "" : record.problem().code;
  }
  void foreign(const char* sql) const {
    sqlite3* connection = nullptr;
    ASSERT_EQ(sqlite3_open(file().c_str(), &connection), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(connection, sql, nullptr, nullptr, nullptr), SQLITE_OK);
    sqlite3_close(connection);
  }

  std::filesystem::path dir_;
};

StoredRun stored(Record& record, RunId run) {
  auto loaded = record.load(run);
  EXPECT_TRUE(loaded) << (loaded ? "" : format(loaded.problem()));
  return loaded ? std::move(*loaded) : StoredRun{};
}

TEST_F(RecordTest, GivesARunBackExactly) {
  RunId run{};
  {
    const auto record = opened();
    plan::Plan first = sample_plan();
    const plan::Step wanted = first.steps.back();
    first.steps.pop_back();
    run = *record->begin(sample_head(), first);
    ASSERT_TRUE(record->add_steps(run, {wanted}));
    for (const auto& r : test::sample_readings()) ASSERT_TRUE(record->add_reading(run, r));
    ASSERT_TRUE(record->placement_done(run, 1));
    ASSERT_TRUE(record->placement_done(run, 0));
    ASSERT_TRUE(record->placement_done(run, 1));
    ASSERT_TRUE(record->finish(run, test::sample_result()));
  }
  const StoredRun back = stored(*opened(), run);
  EXPECT_EQ(back.head.id, run);
  EXPECT_EQ(text_of(back.head), text_of(sample_head()));
  EXPECT_EQ(text_of(back.plan), text_of(sample_plan()));
  EXPECT_EQ(text_of(back.result), text_of(test::sample_result()));
  EXPECT_EQ(back.readings, test::sample_readings());
  EXPECT_EQ(back.placements_done, (std::vector<std::size_t>{1, 0}));
}

// tests/record/version-1.sql: a record as version 1 of the schema wrote it.
TEST_F(RecordTest, BringsARecordOfVersionOneUpToDate) {
  std::ifstream dump(test::source_dir() / "tests/record/version-1.sql");
  const std::string sql{std::istreambuf_iterator<char>(dump), {}};
  ASSERT_FALSE(sql.empty());
  foreign(sql.c_str());
  const StoredRun old = stored(*opened(), RunId{1});
  EXPECT_EQ(old.head.board, "tide-gauge");
  EXPECT_EQ(old.result.diagnosis.coverage.tested, 117u);
  EXPECT_EQ(old.result.diagnosis.coverage.pairs_required, 0u);
  EXPECT_TRUE(old.result.diagnosis.waived.empty());
  const auto record = opened();
  const RunId run = *record->begin(sample_head(), sample_plan());
  ASSERT_TRUE(record->finish(run, test::sample_result()));
  EXPECT_EQ(text_of(stored(*record, run).result), text_of(test::sample_result()));
}

// tests/record/version-2.sql: the same record, brought up by a program of version 2.
TEST_F(RecordTest, BringsARecordOfVersionTwoUpToDate) {
  std::ifstream dump(test::source_dir() / "tests/record/version-2.sql");
  const std::string sql{std::istreambuf_iterator<char>(dump), {}};
  ASSERT_FALSE(sql.empty());
  foreign(sql.c_str());
  const auto record = opened();
  EXPECT_EQ(stored(*record, RunId{1}).result.diagnosis.coverage.tested, 117u);
  EXPECT_FALSE(stored(*record, RunId{1}).result.diagnosis.foil);
  const RunId run = *record->begin(sample_head(), sample_plan());
  ASSERT_TRUE(record->finish(run, test::sample_result()));
  EXPECT_EQ(text_of(stored(*record, run).result), text_of(test::sample_result()));
}

// tests/record/version-3.sql: what version 3 had of a run with a placement on each side.
TEST_F(RecordTest, BringsARecordOfVersionThreeUpToDate) {
  std::ifstream dump(test::source_dir() / "tests/record/version-3.sql");
  const std::string sql{std::istreambuf_iterator<char>(dump), {}};
  ASSERT_FALSE(sql.empty());
  foreign(sql.c_str());
  const auto record = opened();
  const StoredRun old = stored(*record, RunId{1});
  ASSERT_EQ(old.plan.placements.size(), 2u);
  EXPECT_EQ(old.plan.placements[0].probe(2).side, Side::top);
  EXPECT_EQ(old.plan.placements[0].probe(1).twin, 5);
  EXPECT_EQ(old.plan.placements[1].probe(1).side, Side::bottom);
  EXPECT_FALSE(old.plan.placements[1].probe(1).clip);
  EXPECT_EQ(old.readings.size(), 1u);
  ASSERT_TRUE(old.result.diagnosis.foil);
  EXPECT_EQ(old.result.diagnosis.foil->readings, 40u);
  const RunId run = *record->begin(sample_head(), sample_plan());
  ASSERT_TRUE(record->finish(run, test::sample_result()));
  EXPECT_EQ(text_of(stored(*record, run).plan), text_of(sample_plan()));
}

// tests/record/version-4.sql: the same run as version 4 had it, judged by its list.
TEST_F(RecordTest, BringsARecordOfVersionFourUpToDate) {
  std::ifstream dump(test::source_dir() / "tests/record/version-4.sql");
  const std::string sql{std::istreambuf_iterator<char>(dump), {}};
  ASSERT_FALSE(sql.empty());
  foreign(sql.c_str());
  const auto record = opened();
  const StoredRun old = stored(*record, RunId{1});
  EXPECT_TRUE(old.plan.placements[1].probe(1).clip);
  EXPECT_EQ(old.result.diagnosis.breaks.listed, 12u);
  EXPECT_EQ(old.result.diagnosis.bridges.excluded, 3u);
  for (const plan::Placement& p : old.plan.placements) EXPECT_FALSE(p.tried_in_air);
  ASSERT_TRUE(record->tried_in_air(RunId{1}, 1));
  ASSERT_TRUE(record->flush(RunId{1}));
  EXPECT_FALSE(stored(*record, RunId{1}).plan.placements[0].tried_in_air);
  EXPECT_TRUE(stored(*record, RunId{1}).plan.placements[1].tried_in_air);
}

// tests/record/version-5.sql: the same run as version 5 had it, its second placement tried in the air.
TEST_F(RecordTest, BringsARecordOfVersionFiveUpToDate) {
  std::ifstream dump(test::source_dir() / "tests/record/version-5.sql");
  const std::string sql{std::istreambuf_iterator<char>(dump), {}};
  ASSERT_FALSE(sql.empty());
  foreign(sql.c_str());
  const auto record = opened();
  const StoredRun old = stored(*record, RunId{1});
  EXPECT_TRUE(old.plan.placements[1].tried_in_air);
  for (const plan::Placement& p : old.plan.placements) {
    EXPECT_FALSE(p.round);
    EXPECT_EQ(p.taken_back, "");
  }
}

TEST_F(RecordTest, KeepsLandingsAsTheyComeAndWhatIsTakenBack) {
  const auto record = opened();
  const RunId run = *record->begin(sample_head(), sample_plan());
  const std::size_t next = sample_plan().placements.size();
  plan::Placement landing = sample_plan().placements[0];
  landing.name = "touch 1";
  landing.round = 0;
  landing.probes[0].clip = true;
  landing.probes[0].side = Side::both;
  ASSERT_TRUE(record->add_placement(run, next, landing));
  landing.round = 1;
  ASSERT_TRUE(record->add_placement(run, next + 1, landing));
  ASSERT_TRUE(record->take_back(run, next + 1, "undone"));
  ASSERT_TRUE(record->flush(run));
  const auto back = stored(*record, run).plan.placements;
  ASSERT_EQ(back.size(), next + 2);
  EXPECT_FALSE(back[0].round);
  EXPECT_EQ(back[next].round, std::optional<std::size_t>(0));
  EXPECT_EQ(back[next].probes[0].side, Side::both);
  EXPECT_EQ(back[next].taken_back, "");
  EXPECT_EQ(back[next + 1].round, std::optional<std::size_t>(1));
  EXPECT_EQ(back[next + 1].taken_back, "undone");
}

TEST_F(RecordTest, SaysThatAProbeOfBothSidesIsDamage) {
  const RunId run = *opened()->begin(sample_head(), sample_plan());
  foreign("UPDATE probe SET side = 'both' WHERE place = 2");
  const auto loaded = opened()->load(run);
  ASSERT_FALSE(loaded);
  EXPECT_EQ(loaded.problem().code, "REC-008");
}

TEST_F(RecordTest, FinishesARunTwiceWithTheLastResultOnly) {
  const auto record = opened();
  const RunId run = *record->begin(sample_head(), sample_plan());
  ASSERT_TRUE(record->finish(run, test::sample_result()));
  RunResult second;
  second.state = "done";
  ASSERT_TRUE(record->finish(run, second));
  EXPECT_EQ(text_of(stored(*record, run).result), text_of(second));
}

TEST_F(RecordTest, ShowsARunningRunAsRunningAndIncomplete) {
  const auto record = opened();
  const RunId run = *record->begin(sample_head(), sample_plan());
  const StoredRun back = stored(*record, run);
  EXPECT_EQ(back.result.state, "running");
  EXPECT_EQ(back.result.diagnosis.verdict, diagnose::Verdict::incomplete);
}

TEST_F(RecordTest, KeepsFlushedReadingsWhenTheProgramIsKilled) {
  const auto readings = test::sample_readings();
  const pid_t child = ::fork();
  if (child == 0) {
    auto record = Record::open(file());
    if (!record) ::_exit(1);
    const auto run = (*record)->begin(sample_head(), sample_plan());
    for (std::size_t i = 0; i < 4; ++i)
      static_cast<void>((*record)->add_reading(*run, readings[i]));
    static_cast<void>((*record)->flush(*run));
    static_cast<void>((*record)->add_reading(*run, readings[4]));
    ::kill(::getpid(), SIGKILL);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFSIGNALED(status));
  const StoredRun back = stored(*opened(), 1);
  EXPECT_EQ(back.readings, std::vector(readings.begin(), readings.begin() + 4));
  EXPECT_EQ(back.result.state, "running");
}

TEST_F(RecordTest, CommitsByItselfEveryTwoHundredReadings) {
  const auto writer = opened(), reader = opened();
  const RunId run = *writer->begin(sample_head(), sample_plan());
  for (std::uint32_t i = 0; i < 450; ++i) {
    ASSERT_TRUE(writer->add_reading(run, {StepId{1}, i, plan::OverRange{}, 0}));
  }
  EXPECT_GE(stored(*reader, run).readings.size(), 400u);
  ASSERT_TRUE(writer->flush(run));
  EXPECT_EQ(stored(*reader, run).readings.size(), 450u);
}

TEST_F(RecordTest, RefusesAReadingOfAnUnknownStep) {
  const auto record = opened();
  const RunId run = *record->begin(sample_head(), sample_plan());
  EXPECT_EQ(record->add_reading(run, {StepId{77}, 0, plan::OverRange{}, 0}).problem().code,
            "REC-006");
  EXPECT_TRUE(record->add_reading(run, {StepId{1}, 0, plan::OverRange{}, 0})) << "and goes on";
  EXPECT_EQ(stored(*record, run).readings.size(), 1u);
}

TEST_F(RecordTest, BeginsWholeOrNotAtAll) {
  const auto record = opened();
  plan::Plan twice = sample_plan();
  twice.steps[1].id = twice.steps[0].id;
  EXPECT_FALSE(record->begin(sample_head(), twice));
  EXPECT_TRUE(record->history("")->empty());
}

TEST_F(RecordTest, ListsTheNewestRunFirst) {
  const auto record = opened();
  RunHead other = sample_head();
  other.unit = "HC-0008";
  for (const RunHead& head : {sample_head(), other, sample_head()}) {
    ASSERT_TRUE(record->begin(head, sample_plan()));
  }
  const auto ids = [&](const std::string& unit) {
    std::vector<RunId> out;
    const auto heads = record->history(unit);
    for (const auto& h : *heads) out.push_back(h.id);
    return out;
  };
  EXPECT_EQ(ids(""), (std::vector<RunId>{3, 2, 1}));
  EXPECT_EQ(ids("HC-0008"), (std::vector<RunId>{2}));
  EXPECT_EQ(ids("nobody"), std::vector<RunId>{});
  EXPECT_EQ(text_of(record->history("HC-0008")->front()), text_of(other));
}

TEST_F(RecordTest, FindsTheRunToResume) {
  const auto record = opened();
  EXPECT_EQ(*record->unfinished(sample_head()), std::nullopt);
  const RunId first = *record->begin(sample_head(), sample_plan());
  EXPECT_EQ(*record->unfinished(sample_head()), first);
  RunHead other = sample_head();
  other.stage = "finished";
  EXPECT_EQ(*record->unfinished(other), std::nullopt) << "a new stage voids old readings";
  other = sample_head();
  other.design_hash = "d1";
  EXPECT_EQ(*record->unfinished(other), std::nullopt);
  const RunId second = *record->begin(sample_head(), sample_plan());
  EXPECT_EQ(*record->unfinished(sample_head()), second);
  RunResult done;
  done.state = "done";
  ASSERT_TRUE(record->finish(second, done));
  EXPECT_EQ(*record->unfinished(sample_head()), std::nullopt) << "the first was overtaken";
}

TEST_F(RecordTest, SaysThatThereIsNoSuchRun) {
  const auto record = opened();
  const auto loaded = record->load(7);
  ASSERT_FALSE(loaded);
  EXPECT_EQ(loaded.problem().message, "there is no run 7");
  EXPECT_EQ(record->finish(7, test::sample_result()).problem().code, "REC-007");
}

TEST_F(RecordTest, RefusesWhatIsNoDatabaseAndLeavesItAlone) {
  const std::string letter = "Dear harbour master,\n" + std::string(4096, 'x');
  std::ofstream(file()) << letter;
  EXPECT_EQ(code_of_opening(), "REC-001");
  std::ifstream in(file());
  EXPECT_EQ(std::string(std::istreambuf_iterator<char>(in), {}), letter);
}

TEST_F(RecordTest, RefusesAFolder) {
  std::filesystem::create_directory(file());
  EXPECT_EQ(code_of_opening(), "REC-001");
}

TEST_F(RecordTest, RefusesAnotherProgramsDatabase) {
  foreign("CREATE TABLE boats (name TEXT)");
  EXPECT_EQ(code_of_opening(), "REC-002");
}

TEST_F(RecordTest, RefusesARecordOfANewerProgram) {
  static_cast<void>(opened());
  foreign("PRAGMA user_version = 99");
  EXPECT_EQ(code_of_opening(), "REC-003");
}

TEST_F(RecordTest, RefusesAFolderThatIsNotThereOrNotWritable) {
  EXPECT_EQ(Record::open(dir_ / "none" / "bench.isthmus").problem().code, "REC-004");
  EXPECT_EQ(Record::open("/proc/bench.isthmus").problem().code, "REC-004");
}

TEST_F(RecordTest, TakesAnEmptyFileAsNew) {
  std::ofstream{file()};
  EXPECT_TRUE(opened()->history("")->empty());
}

TEST_F(RecordTest, SaysThatARunIsDamaged) {
  RunId run{};
  {
    const auto record = opened();
    run = *record->begin(sample_head(), sample_plan());
    ASSERT_TRUE(record->begin(sample_head(), sample_plan()));
  }
  foreign("UPDATE step SET kind = 'guess' WHERE run = 1 AND id = 3");
  const auto record = opened();
  const auto loaded = record->load(run);
  ASSERT_FALSE(loaded);
  EXPECT_EQ(loaded.problem().code, "REC-008");
  EXPECT_EQ(text_of(stored(*record, run + 1).plan), text_of(sample_plan()))
      << "the others still read";
}

TEST_F(RecordTest, WaitsForAnotherProgramThenSaysSo) {
  const auto first = opened(), second = opened();
  const RunId run = *first->begin(sample_head(), sample_plan());
  ASSERT_TRUE(
      first->add_reading(run, {StepId{1}, 0, plan::OverRange{}, 0}));  // holds the file for writing
  EXPECT_EQ(second->begin(sample_head(), sample_plan()).problem().code, "REC-005");
  ASSERT_TRUE(first->flush(run));
  EXPECT_TRUE(second->begin(sample_head(), sample_plan()));
}

// A disk that fills up after every possible number of kilobytes: the child gets a Problem, never a
// crash, and what it flushed before is there, in order.
TEST_F(RecordTest, SurvivesAFullDiskAtEveryPoint) {
  std::size_t failures = 0;
  for (rlim_t kilobytes = 0; kilobytes <= 320; kilobytes += 20) {
    std::filesystem::remove_all(dir_);
    std::filesystem::create_directories(dir_);
    const pid_t child = ::fork();
    if (child == 0) {
      ::signal(SIGXFSZ, SIG_IGN);
      const rlimit limit{kilobytes * 1024, kilobytes * 1024};
      ::setrlimit(RLIMIT_FSIZE, &limit);
      auto record = Record::open(file());
      if (!record) ::_exit(3);
      const auto run = (*record)->begin(sample_head(), sample_plan());
      if (!run) ::_exit(3);
      for (std::uint32_t i = 0; i < 20; ++i) {
        if (!(*record)->add_reading(*run, {StepId{1}, i, plan::OverRange{}, 0})) ::_exit(3);
        if (!(*record)->flush(*run)) ::_exit(3);
      }
      ::_exit(0);
    }
    int status = 0;
    ASSERT_EQ(::waitpid(child, &status, 0), child);
    ASSERT_TRUE(WIFEXITED(status)) << kilobytes;
    if (WEXITSTATUS(status) == 3) ++failures;
    const auto record = opened();
    const auto heads = record->history("");
    for (const RunHead& head : *heads) {
      const StoredRun back = stored(*record, head.id);
      EXPECT_EQ(text_of(back.plan), text_of(sample_plan()));
      for (std::size_t i = 0; i < back.readings.size(); ++i)
        EXPECT_EQ(back.readings[i].sequence, i);
      EXPECT_TRUE(WEXITSTATUS(status) == 3 || back.readings.size() == 20);
    }
  }
  EXPECT_GT(failures, 3u);
}

}  // namespace
}  // namespace isthmus::record
