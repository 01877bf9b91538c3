// SPDX-License-Identifier: Apache-2.0
// When a run predicts what its steps should measure: while the probes are laid, and never while the
// adapter waits. Oracle: the requests that the adapter in memory has seen, the record, and for the
// numbers a field of its own (docs/resistance.md).
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "isthmus/session/session.hpp"
#include "tests/adapter/fake_adapter.hpp"
#include "tests/session/two_nets.hpp"

namespace isthmus::session {
namespace {

// TIDE and GND: bars of 3.54 by 1 mm, their pads at the ends of the middle line.
expect::Board two_bars() {
  expect::Board board = test::two_nets();
  board.copper.layers = 1;
  for (const double x : {-0.5, 4.58}) {
    copper::Island bar;
    bar.outline.outer = {position_mm(x, -0.5), position_mm(x + 3.54, -0.5),
                         position_mm(x + 3.54, 0.5), position_mm(x, 0.5)};
    bar.box.add(box_of(bar.outline.outer));
    bar.area_nm2 = area_nm2(bar.outline);
    board.copper.islands.push_back(std::move(bar));
  }
  for (std::size_t i = 0; i < 4; ++i)
    board.expectation.points[i].islands = {IslandId{static_cast<std::uint32_t>(i / 2)}};
  return board;
}

std::size_t predicted(const plan::Plan& plan) {
  return static_cast<std::size_t>(std::ranges::count_if(
      plan.steps, [](const plan::Step& s) { return s.predicted.has_value(); }));
}

class ForetoldTest : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    dir_ = std::filesystem::temp_directory_path() /
           (std::string("isthmus-foretold-") + info->name() + std::to_string(::getpid()));
    std::filesystem::create_directories(dir_);
    auto record = record::Record::open(dir_ / "bench.isthmus");
    ASSERT_TRUE(record);
    record_ = std::move(*record);
    bench_.measure = [](const test::SeenStep& s) -> std::pair<double, unsigned> {
      if (s.query == "CONT") return {s.closed.begin()->second == 5 ? 0 : 1, 0};
      if (s.query == "VOLT") return {0.001, 0};
      if (s.reference) return {s.reference == 1 ? 10.0 : 1e7, 0};
      std::set<int> high, low;
      for (const auto& [row, channel] : s.closed)
        if (row <= 2) (row == 1 ? high : low).insert(test::net_of(channel));
      for (const int n : high)
        if (low.contains(n)) return {0.05, 0};
      return {9.9e37, 1};
    };
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  plan::Plan plan(std::size_t placements) {
    plan::Plan plan = test::PlanWriter(placements).plan();
    for (plan::Placement& p : plan.placements) {
      for (plan::Probe& probe : p.probes) probe.at = board_.expectation.point(probe.point).at;
    }
    return plan;
  }
  Outcome run(plan::Plan plan) {
    auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(bench_));
    EXPECT_TRUE(instrument);
    auto done =
        run_test(board_, std::move(plan), **instrument, *record_, record::RunHead{}, hooks_);
    EXPECT_TRUE(done) << (done ? "" : format(done.problem()));
    return std::move(done).value();
  }
  [[nodiscard]] std::size_t recorded() const {
    return predicted(record_->load(record_->history("")->front().id)->plan);
  }

  std::filesystem::path dir_;
  expect::Board board_ = two_bars();
  test::FakeBench bench_;
  Hooks hooks_;
  std::unique_ptr<record::Record> record_;
};

TEST_F(ForetoldTest, PredictsOnceTheProbesWereAskedForAndBeforeAnythingIsMeasured) {
  std::vector<std::size_t> before, after, measured;
  hooks_.lay = [&](const plan::Placement&, const auto& meanwhile) {
    before.push_back(recorded());
    measured.push_back(bench_.steps.size());
    meanwhile();
    after.push_back(recorded());
    EXPECT_EQ(bench_.steps.size(), measured.back()) << "the adapter is left alone";
    return Result<Done>(Done{});
  };
  const Outcome out = run(plan(2));
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::pass);
  // Two nets, two readings each in both placements: predicted with the first of them.
  EXPECT_EQ(before, (std::vector<std::size_t>{0, 8}));
  EXPECT_EQ(after, (std::vector<std::size_t>{8, 8}));
  EXPECT_EQ(measured[0], 0u);
  EXPECT_EQ(predicted(out.plan), 8u);
}

TEST_F(ForetoldTest, ThePredictionsAreThereAtTheFirstReadingWhereLayingTakesNoTime) {
  hooks_.lay = [](const plan::Placement&, const auto&) { return Result<Done>(Done{}); };
  std::optional<std::size_t> at_first;
  bench_.measure = [&, answer = bench_.measure](const test::SeenStep& s) {
    if (!at_first) at_first = recorded();
    return answer(s);
  };
  run(plan(1));
  EXPECT_EQ(at_first, 4u);
}

TEST_F(ForetoldTest, TheNumbersAreTheFieldsAndTheRecordKeepsThem) {
  hooks_.lay = [](const plan::Placement&, const auto&) { return Result<Done>(Done{}); };
  plan::Plan wide = plan(1);
  wide.tip = 800_um;
  const Outcome out = run(wide);
  copper::Field field(board_.copper, {}, expect::foil_of(board_), copper::Fidelity::quick);
  const plan::Plan stored = record_->load(out.run)->plan;
  for (const plan::Step& s : out.plan.steps) {
    if (s.kind != plan::StepKind::continuity) continue;
    const auto& island = board_.expectation.point(s.points[0]).islands[0];
    const auto end = [&](PointId p) {
      return copper::Electrode{*island, board_.expectation.point(p).at, 800_um};
    };
    const auto own = field.between(end(s.points[0]), end(s.points[1]));
    for (const auto& got : {s.predicted, stored.step(s.id).predicted}) {
      ASSERT_TRUE(got);
      EXPECT_EQ(got->ohms.value, own->ohms.value);
      EXPECT_EQ(got->uncertainty.value, own->uncertainty.value);
      EXPECT_EQ(got->mesh.value, own->mesh.value);
      EXPECT_EQ(got->per_loss, own->per_loss);
    }
  }
}

TEST_F(ForetoldTest, WhoInterruptsTheLayingDoesNotWaitForTheRest) {
  bool interrupted = false;
  hooks_.interrupted = [&] { return interrupted; };
  hooks_.lay = [&](const plan::Placement&, const auto& meanwhile) -> Result<Done> {
    interrupted = true;
    meanwhile();
    return Done{};
  };
  const Outcome out = run(plan(1));
  EXPECT_TRUE(out.stopped);
  EXPECT_EQ(predicted(out.plan), 0u);
  EXPECT_TRUE(bench_.steps.empty());
}

}  // namespace
}  // namespace isthmus::session
