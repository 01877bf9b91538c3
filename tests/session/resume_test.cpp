// SPDX-License-Identifier: Apache-2.0
// A run broken off at every place, and continued. Oracle: the same run, not broken off; the bench
// is what the test says it is.
#include "session/resume.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "tests/adapter/fake_adapter.hpp"
#include "tests/session/two_nets.hpp"

namespace isthmus::session {
namespace {

using test::FakeAdapter;
using test::FakeBench;
using test::net_of;
using test::PlanWriter;
using test::SeenStep;
using Names = std::vector<std::string>;

constexpr std::size_t kPlacements = 5;

// Ohms along each net, and from one net to the other.
struct Copper {
  double tide{0.05}, ground{0.02}, between{9.9e37};
};

class ResumeTest : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    dir_ = std::filesystem::temp_directory_path() /
           (std::string("isthmus-resume-") + info->name() + std::to_string(::getpid()));
    std::filesystem::create_directories(dir_);
    auto record = record::Record::open(dir_ / "bench.isthmus");
    ASSERT_TRUE(record);
    record_ = std::move(*record);
    bench_.measure = [this](const SeenStep& s) { return read(s); };
    hooks_.lay = [this](const plan::Placement& p, const auto&) {
      laid_.push_back(p.name);
      return Result<Done>(Done{});
    };
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  [[nodiscard]] std::pair<double, unsigned> read(const SeenStep& s) const {
    if (s.query == "CONT") return {s.closed.begin()->second == 5 ? 0 : 1, 0};
    if (s.query == "VOLT") return {0.001, 0};
    if (s.reference) return {s.reference == 1 ? 10.0 : 1e7, 0};
    std::set<int> high, low;
    for (const auto& [row, channel] : s.closed) {
      if (row == 1) high.insert(net_of(channel));
      if (row == 2) low.insert(net_of(channel));
    }
    double ohms = 9.9e37;
    for (const int n : high) {
      for (const int m : low)
        ohms = std::min(ohms, n != m ? copper_.between : n == 0 ? copper_.tide : copper_.ground);
    }
    return {ohms, ohms > 1e37 ? 1u : 0u};
  }
  void connect() {
    instrument_.reset();
    bench_.gone_at_read = bench_.gone_at_write = SIZE_MAX;
    auto instrument = adapter::Instrument::connect(std::make_unique<FakeAdapter>(bench_));
    ASSERT_TRUE(instrument) << format(instrument.problem());
    instrument_ = std::move(*instrument);
    laid_.clear();
  }
  Outcome whole() {
    connect();
    auto out = run_test(board_, PlanWriter(kPlacements).plan(), *instrument_, *record_, {}, hooks_);
    EXPECT_TRUE(out) << (out ? "" : format(out.problem()));
    return out ? std::move(*out) : Outcome{};
  }
  // Reads of the link that a whole run takes, connecting left out.
  std::size_t reads_of_a_run() {
    connect();
    const std::size_t before = bench_.reads;
    auto out = run_test(board_, PlanWriter(kPlacements).plan(), *instrument_, *record_, {}, hooks_);
    EXPECT_TRUE(out);
    return bench_.reads - before;
  }
  record::StoredRun broken_at(std::size_t read) {
    connect();
    bench_.gone_at_read = bench_.reads + read;
    auto out = run_test(board_, PlanWriter(kPlacements).plan(), *instrument_, *record_, {}, hooks_);
    EXPECT_TRUE(out && out->link_failure);
    auto stored = record_->load(out->run);
    EXPECT_TRUE(stored);
    return std::move(*stored);
  }
  Result<Outcome> resumed(const record::StoredRun& broken,
                          plan::Plan plan = PlanWriter(kPlacements).plan()) {
    connect();
    return resume_test(board_, std::move(plan), broken, *instrument_, *record_, {}, hooks_);
  }

  std::filesystem::path dir_;
  expect::Board board_ = test::two_nets();
  Copper copper_;
  FakeBench bench_;
  Hooks hooks_;
  Names laid_;
  std::unique_ptr<record::Record> record_;
  std::unique_ptr<adapter::Instrument> instrument_;
};

bool same(const diagnose::Diagnosis& a, const diagnose::Diagnosis& b) {
  return a.verdict == b.verdict && a.findings == b.findings &&
         a.coverage.tested == b.coverage.tested && a.untested.size() == b.untested.size();
}

// The record as it stands when the program dies after so many readings.
record::StoredRun cut_after(record::StoredRun run, std::size_t readings) {
  std::vector<std::size_t> left(kPlacements);
  for (std::size_t i = readings; i < run.readings.size(); ++i)
    ++left[run.plan.steps[index(run.readings[i].step) - 1].placement];
  std::erase_if(run.placements_done, [&](std::size_t p) { return left[p] > 0; });
  run.readings.resize(readings);
  while (run.plan.steps.back().wanted &&
         std::ranges::find(run.readings, run.plan.steps.back().id, &plan::Reading::step) ==
             run.readings.end())
    run.plan.steps.pop_back();
  run.result.state = "running";
  return run;
}

TEST_F(ResumeTest, EndsAsTheUnbrokenRunAfterWhicheverReadingItDied) {
  copper_.between = 1000;  // a bridge
  const Outcome expected = whole();
  ASSERT_EQ(expected.result.diagnosis.verdict, diagnose::Verdict::fail);
  const record::StoredRun all = *record_->load(expected.run);
  std::size_t carried = 0, runs = 0;
  for (std::size_t n = 0; n < all.readings.size(); n += 7, ++runs) {
    const auto out = resumed(cut_after(all, n));
    ASSERT_TRUE(out) << n;
    EXPECT_TRUE(same(out->result.diagnosis, expected.result.diagnosis)) << n;
    EXPECT_EQ(out->result.placements, kPlacements) << n;
    ASSERT_TRUE(out->resumed);
    EXPECT_EQ(out->resumed->differing, 0u) << n;
    EXPECT_EQ(laid_.size() + out->resumed->carried.size(), kPlacements) << n;
    carried += out->resumed->carried.size();
    const auto stored = record_->load(out->run);
    ASSERT_TRUE(stored);
    EXPECT_EQ(stored->readings, out->readings) << n;
    EXPECT_EQ(stored->placements_done.size(), kPlacements) << n;
  }
  EXPECT_GT(carried, runs / 2) << "else nothing was tried";
}

TEST_F(ResumeTest, EndsAsTheUnbrokenRunWhereverTheLinkWent) {
  const std::size_t reads = reads_of_a_run();
  ASSERT_GT(reads, 5u);
  for (std::size_t n = 0; n + 2 < reads; ++n) {
    const record::StoredRun broken = broken_at(n);
    ASSERT_EQ(broken.result.diagnosis.verdict, diagnose::Verdict::incomplete) << n;
    const auto out = resumed(broken);
    ASSERT_TRUE(out) << n;
    EXPECT_EQ(out->result.diagnosis.verdict, diagnose::Verdict::pass) << n;
    EXPECT_EQ(out->resumed->differing, 0u) << n;
  }
}

TEST_F(ResumeTest, LaysFinishedPlacementsAgainUntilEightResistancesCanBeCompared) {
  // Four resistances a placement, of which two had been read in the last.
  record::StoredRun broken = *record_->load(whole().run);
  std::erase(broken.placements_done, kPlacements - 1);
  for (std::size_t seen = 0, i = 0; i < broken.readings.size(); ++i) {
    const plan::Step& step = broken.plan.steps[index(broken.readings[i].step) - 1];
    if (step.placement != kPlacements - 1 || step.kind != plan::StepKind::continuity) continue;
    if (++seen == 2) broken.readings.resize(i + 1);
  }
  const auto out = resumed(broken);
  ASSERT_TRUE(out);
  EXPECT_EQ(laid_, (Names{"E", "D", "C"}));
  EXPECT_EQ(out->resumed->again, laid_);
  EXPECT_EQ(out->resumed->carried, (Names{"A", "B"}));
  EXPECT_EQ(out->resumed->compared, 12u) << "two and four and four, and two isolation steps";
  EXPECT_EQ(out->resumed->resistances, 10u);
  EXPECT_EQ(out->remarks, Names{"continues run 1: placement A, B carried over from it"});
}

TEST_F(ResumeTest, ABoardThatReadsOtherwiseIsMeasuredAnew) {
  const std::size_t late = reads_of_a_run() - 3;
  const Copper sound;
  const std::pair<const char*, Copper> kChanged[] = {
      {"one net is another's", {0.4, 0.02, 9.9e37}},
      {"a net is open", {9.9e37, 0.02, 9.9e37}},
      {"there is a bridge", {0.05, 0.02, 50}},
  };
  for (const auto& [what, changed] : kChanged) {
    copper_ = sound;
    const record::StoredRun broken = broken_at(late);
    copper_ = changed;
    const Outcome expected = whole();
    const auto out = resumed(broken);
    ASSERT_TRUE(out) << what;
    EXPECT_TRUE(same(out->result.diagnosis, expected.result.diagnosis)) << what;
    EXPECT_EQ(Names(laid_.end() - kPlacements, laid_.end()), (Names{"A", "B", "C", "D", "E"}))
        << what;
    EXPECT_TRUE(out->resumed->carried.empty()) << what;
    EXPECT_GT(out->resumed->differing, 0u) << what;
    ASSERT_EQ(out->remarks.size(), 1u) << what;
    EXPECT_NE(out->remarks[0].find("was not continued"), std::string::npos) << out->remarks[0];
  }
}

TEST_F(ResumeTest, TipsThatTouchAnewAreTheSameBoard) {
  const record::StoredRun broken = broken_at(reads_of_a_run() - 3);
  copper_ = {0.05 * 1.04 + 0.1, 0.02 * 1.04, 9.9e37};
  const auto out = resumed(broken);
  ASSERT_TRUE(out);
  EXPECT_FALSE(out->resumed->carried.empty());
  EXPECT_EQ(out->resumed->differing, 0u);
}

// docs/record.md: eight resistances.
TEST_F(ResumeTest, FewerThanEightResistancesComparedIsNoAgreement) {
  EXPECT_FALSE((Agreement{0, 0, 0}.holds()));
  EXPECT_FALSE((Agreement{40, 0, 7}.holds()));
  EXPECT_FALSE((Agreement{40, 1, 30}.holds()));
  EXPECT_TRUE((Agreement{8, 0, 8}.holds()));
}

// Nothing differs, but the repeat says too little: of most steps the adapter gives no reading.
TEST_F(ResumeTest, ARepeatThatSaysTooLittleIsMeasuredAnew) {
  const record::StoredRun broken = broken_at(reads_of_a_run() - 3);
  ASSERT_GT(broken.placements_done.size(), 2u);
  const std::size_t laid_again =
      carried_from(board_, broken, PlanWriter(kPlacements).plan())->again.size();
  int mute = 0;
  bench_.measure = [&](const SeenStep& s) -> std::pair<double, unsigned> {
    const bool low = s.query == "FRES" && !s.reference && read(s).first < 1e37;
    if (low && laid_.size() <= laid_again && ++mute > 3) return {9.91e37, 32};
    return read(s);
  };
  const auto out = resumed(broken);
  ASSERT_TRUE(out);
  EXPECT_EQ(out->resumed->differing, 0u);
  EXPECT_LT(out->resumed->resistances, 8u);
  EXPECT_TRUE(out->resumed->carried.empty());
  EXPECT_EQ(record_->load(broken.head.id + 1)->result.problem,
            "too few readings could be compared with those of run 2");
  EXPECT_EQ(Names(laid_.end() - kPlacements, laid_.end()), (Names{"A", "B", "C", "D", "E"}));
  ASSERT_EQ(out->remarks.size(), 1u);
  EXPECT_NE(out->remarks[0].find("could be compared, of the 8 that it takes"), std::string::npos)
      << out->remarks[0];
}

TEST_F(ResumeTest, ARunBrokenTwiceIsContinuedFromTheSecond) {
  const std::size_t reads = reads_of_a_run();
  const record::StoredRun broken = broken_at(reads - 3);
  connect();
  bench_.gone_at_read = bench_.reads + 1;
  const auto again = resume_test(board_, PlanWriter(kPlacements).plan(), broken, *instrument_,
                                 *record_, {}, hooks_);
  ASSERT_TRUE(again && again->link_failure);
  EXPECT_EQ(again->result.diagnosis.verdict, diagnose::Verdict::incomplete);
  const auto stored = record_->load(again->run);
  ASSERT_TRUE(stored);
  ASSERT_FALSE(stored->placements_done.empty());
  const auto out = resumed(*stored);
  ASSERT_TRUE(out);
  EXPECT_EQ(out->result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_EQ(out->result.placements, kPlacements);
}

// Placements A to C touch the top, D and E the bottom; it broke off in E. Another board whose top is
// cut must not get the top of the first.
TEST_F(ResumeTest, OfEachSideThatIsCarriedOneIsLaidAgain) {
  record::StoredRun broken = *record_->load(whole().run);
  broken.placements_done = {0, 1, 2, 3};
  plan::Plan plan = PlanWriter(kPlacements).plan();
  for (plan::Plan* p : {&broken.plan, &plan}) {
    for (const std::size_t i : {3U, 4U}) {
      for (plan::Probe& probe : p->placements[i].probes) probe.side = Side::bottom;
    }
  }
  auto carried = carried_from(board_, broken, plan);
  ASSERT_TRUE(carried);
  EXPECT_EQ(carried->again, (std::vector<std::size_t>{4, 2}));
  EXPECT_EQ(carried->placements, (std::vector<std::size_t>{0, 1, 3}));
  // No finished one of the top can be spared: nothing of it is carried.
  broken.placements_done = {0, 3};
  std::erase_if(broken.readings, [&](const plan::Reading& r) {
    const std::size_t p = broken.plan.step(r.step).placement;
    return p == 1 || p == 2;
  });
  carried = carried_from(board_, broken, plan);
  ASSERT_TRUE(carried);
  EXPECT_EQ(carried->again, (std::vector<std::size_t>{4, 0}));
  EXPECT_EQ(carried->placements, (std::vector<std::size_t>{3}));
}

// What was read of isolation alone says nothing of copper, and the other way round.
TEST_F(ResumeTest, JoinsAndGapsThatAreCarriedAreComparedToo) {
  record::StoredRun broken = *record_->load(whole().run);
  broken.placements_done = {0, 1, 2, 3};
  plan::Plan plan = PlanWriter(kPlacements).plan();
  for (plan::Plan* p : {&broken.plan, &plan}) {
    for (plan::Step& s : p->steps) {
      if (s.kind == plan::StepKind::isolation && s.placement > 1)
        s.kind = plan::StepKind::resistance;
      if (s.kind == plan::StepKind::continuity && s.placement != 0) s.groups = {GroupId{1}};
    }
  }
  auto carried = carried_from(board_, broken, plan);
  ASSERT_TRUE(carried);
  EXPECT_EQ(carried->again, (std::vector<std::size_t>{4, 1})) << "gaps";
  board_.expectation.groups[0].islands = {IslandId{0}, IslandId{1}};
  carried = carried_from(board_, broken, plan);
  ASSERT_TRUE(carried);
  EXPECT_EQ(carried->again, (std::vector<std::size_t>{4, 1, 0})) << "the join of TIDE";
}

TEST_F(ResumeTest, AnotherPlanIsRefused) {
  const record::StoredRun broken = broken_at(reads_of_a_run() / 2);
  for (const auto& change : {+[](plan::Plan& p) { p.steps.pop_back(); },
                             +[](plan::Plan& p) { p.steps[9].limit = Ohms{11}; },
                             +[](plan::Plan& p) { std::swap(p.steps[9].source, p.steps[9].ret); },
                             +[](plan::Plan& p) { p.placements[1].probes[0].point = PointId{1}; },
                             +[](plan::Plan& p) { p.placements[1].name = "Z"; }}) {
    plan::Plan plan = PlanWriter(kPlacements).plan();
    change(plan);
    const auto out = resumed(broken, std::move(plan));
    ASSERT_FALSE(out);
    EXPECT_EQ(out.problem().code, "SES-011");
    EXPECT_TRUE(laid_.empty());
  }
}

}  // namespace
}  // namespace isthmus::session
