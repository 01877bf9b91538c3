// SPDX-License-Identifier: Apache-2.0
// The trial without a board, on an adapter in memory whose wires touch as each test says. Oracle:
// which wires touch is what the fake bench says.
#include "session/air.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "isthmus/session/zero.hpp"
#include "tests/adapter/fake_adapter.hpp"
#include "tests/session/two_nets.hpp"

namespace isthmus::session {
namespace {

using plan::Channel;
using test::SeenStep;

// Nothing lies under the tips: only touching wires conduct.
class InTheAir : public ::testing::Test {
 protected:
  InTheAir() {
    bench_.measure = [this](const SeenStep& s) { return answer(s); };
    for (Channel c = 1; c <= 40; ++c) hanging_.channels.insert(c);
    hanging_.together = {{1, 2}, {3, 27}, {9, 10}};
  }
  [[nodiscard]] std::pair<double, unsigned> answer(const SeenStep& s) {
    ++asked_;
    if (s.query == "VOLT") return {volts_, 0U};
    if (s.query == "CONT") return {always_yes_.contains(s.closed.begin()->second) ? 1.0 : 0.0, 0U};
    if (s.query != "RES" || s.closed.size() > holds_) return {9.9e37, 5U};
    for (const auto& [a, b] : touching_) {
      if ((s.closed.contains({1, a}) && s.closed.contains({2, b})) ||
          (s.closed.contains({1, b}) && s.closed.contains({2, a})))
        return {8.1, hums_ ? 2U : 0U};
    }
    return {9.9e37, hums_ && s.closed.contains({1, 9}) ? 2U + 5U : 5U};
  }
  Problem problem() {
    const auto done = trial();
    EXPECT_FALSE(done);
    return done ? Problem{} : done.problem();
  }
  Result<Done> trial() {
    auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(bench_));
    EXPECT_TRUE(instrument);
    if (!instrument) return instrument.problem();
    MeasurerSetup setup;
    setup.wires = 4;
    return try_in_air(**instrument, setup, hanging_,
                      [](Channel c) { return "wire " + std::to_string(c); });
  }

  test::FakeBench bench_;
  Hanging hanging_;
  std::set<ChannelPair> touching_;
  std::set<int> always_yes_;
  std::size_t holds_{1000}, asked_{};
  bool hums_{false};
  double volts_{};
};

TEST_F(InTheAir, WiresThatHangFreeAreTried) {
  hanging_.contact_check = true;
  EXPECT_TRUE(trial());
  // A voltage, 6 words of 40 numbers, both checks of each, 3 nets of two.
  EXPECT_EQ(asked_, 1u + 6 + 80 + 3);
}

// Of different nets too: such wires are found by the words alone.
TEST_F(InTheAir, EachTwoThatTouchAreNamed) {
  for (const auto& pair : {ChannelPair{3, 27}, {1, 40}, {16, 17}, {39, 40}}) {
    touching_ = {pair};
    const Problem p = problem();
    EXPECT_EQ(p.code, "SES-034");
    EXPECT_EQ(p.cause, Cause::bench);
    EXPECT_NE(p.message.find("wire " + std::to_string(pair.first) + " and wire " +
                             std::to_string(pair.second) + " conduct"),
              std::string::npos)
        << p.message;
  }
}

TEST_F(InTheAir, ManyThatTouchAreCounted) {
  for (Channel c = 1; c < 40; c += 2) touching_.insert({c, c + 1});
  EXPECT_NE(problem().message.find("and 17 more pairs"), std::string::npos);
}

// Few switches at once is all that some benches hold: two of one net are asked alone.
TEST_F(InTheAir, TwoOfOneNetAreHeardThoughNoWordIs) {
  holds_ = 3;
  touching_ = {{3, 27}};
  EXPECT_EQ(problem().code, "SES-034");
  touching_ = {{3, 28}};  // of two nets: the run itself reads these apart
  EXPECT_TRUE(trial());
}

// Four against four: each two of a net of eleven are on different rows of one of them.
TEST_F(InTheAir, EachTwoOfALargeNetAreAskedFewAtATime) {
  hanging_.together = {{1, 2, 5, 7, 11, 12, 20, 21, 30, 33, 40}};
  holds_ = 8;
  EXPECT_TRUE(trial());
  for (const Channel a : *hanging_.together.begin()) {
    for (const Channel b : *hanging_.together.begin()) {
      if (a >= b) continue;
      touching_ = {{a, b}};
      const Problem p = problem();
      EXPECT_NE(p.message.find("wire " + std::to_string(a) + " and wire " + std::to_string(b) +
                               " conduct"),
                std::string::npos)
          << p.message;
    }
  }
}

TEST_F(InTheAir, ACheckThatSaysYesProvesNothing) {
  always_yes_ = {12};
  EXPECT_TRUE(trial()) << "it is not used";
  hanging_.contact_check = true;
  const Problem p = problem();
  EXPECT_EQ(p.code, "SES-034");
  EXPECT_NE(p.message.find("wire 12"), std::string::npos) << p.message;
}

TEST_F(InTheAir, WhatHumDrownsIsNotTried) {
  hums_ = true;
  const Problem p = problem();
  EXPECT_EQ(p.code, "SES-035");
  EXPECT_NE(p.message.find("wire 9 and wire 10"), std::string::npos) << p.message;
}

TEST_F(InTheAir, VoltageEndsIt) {
  volts_ = 1;
  EXPECT_EQ(problem().code, "SES-007");
}

TEST_F(InTheAir, ALoneTipHasNothingToTouch) {
  hanging_.channels = {4};
  hanging_.together.clear();
  EXPECT_TRUE(trial());
  EXPECT_EQ(asked_, 0u);
}

TEST_F(InTheAir, ZeroTriesEachTwoOfAPlacement) {
  formats::FixtureFile fixture;
  fixture.channels = 12;
  formats::PlacementEntry placement{"A", Side::top, {}, {}};
  for (int c = 1; c <= 12; ++c) placement.probes[c] = {"P" + std::to_string(c), {}, {}};
  fixture.placements.push_back(placement);
  holds_ = 8;  // no word of twelve tells
  bool lies = false;
  bench_.measure = [&](const SeenStep& s) {
    if (!lies || s.query == "VOLT") return answer(s);
    return std::pair{0.3, 0U};
  };
  Hooks hooks;
  hooks.lift = [&](const plan::Placement& p) {
    EXPECT_EQ(p.name, "A");
    return Result<Lifted>(Lifted::placement);
  };
  hooks.lay = [&](const plan::Placement&, const auto&) {
    lies = true;
    return Result<Done>(Done{});
  };
  auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(bench_));
  ASSERT_TRUE(instrument);
  auto zero = take_zero(fixture, **instrument, hooks);
  ASSERT_TRUE(zero) << format(zero.problem());
  EXPECT_EQ(zero->in_air, (std::set<std::string>{"A"}));
  lies = false;
  touching_ = {{2, 11}};
  zero = take_zero(fixture, **instrument, hooks);
  ASSERT_FALSE(zero);
  EXPECT_EQ(zero.problem().code, "SES-034");
  hooks.lift = [](const plan::Placement&) { return Result<Lifted>(Lifted::none); };
  zero = take_zero(fixture, **instrument, hooks);
  ASSERT_TRUE(zero);
  EXPECT_TRUE(zero->in_air.empty());
}

// Two nets of two pads; a run on it lifts before it lays.
class RunInTheAir : public ::testing::Test {
 protected:
  RunInTheAir()
      : dir_(std::filesystem::temp_directory_path() /
             ("isthmus-air-" + std::to_string(::getpid()))) {
    std::filesystem::create_directories(dir_);
    hooks_.lift = [this](const plan::Placement& p) {
      happened_ += "lift " + p.name + " ";
      lies_ = false;
      return Result<Lifted>(lifted_);
    };
    hooks_.lay = [this](const plan::Placement& p, const auto&) {
      happened_ += "lay " + p.name + " ";
      lies_ = true;
      return Result<Done>(Done{});
    };
    bench_.measure = [this](const SeenStep& s) -> std::pair<double, unsigned> {
      if (s.query == "VOLT") return {0, 0};
      if (s.query == "CONT") return {lies_ && s.closed.begin()->second != 5 ? 1 : 0, 0};
      if (s.reference) return {s.reference == 1 ? 10.0 : 1e7, 0};
      for (const auto& [row, a] : s.closed) {
        for (const auto& [other, b] : s.closed) {
          if (row != 1 || other != 2) continue;
          const bool touch = touching_.contains({std::min(a, b), std::max(a, b)});
          if (touch || (lies_ && test::net_of(a) == test::net_of(b))) return {0.05, 0};
        }
      }
      return {9.9e37, s.query == "ISOL" ? 1 : 5};
    };
  }
  ~RunInTheAir() override { std::filesystem::remove_all(dir_); }
  RunInTheAir(const RunInTheAir&) = delete;
  RunInTheAir& operator=(const RunInTheAir&) = delete;

  Outcome run(std::size_t placements = 1) {
    auto record = record::Record::open(dir_ / "bench.isthmus");
    auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(bench_));
    EXPECT_TRUE(record && instrument);
    auto done = run_test(board_, test::PlanWriter(placements, check_on_5_).plan(), **instrument,
                         **record, record::RunHead{}, hooks_);
    EXPECT_TRUE(done) << format(done.problem());
    if (!done) return {};
    const auto stored = (*record)->load(done->run);
    EXPECT_TRUE(stored);
    for (std::size_t i = 0; i < placements; ++i)
      EXPECT_EQ(stored->plan.placements[i].tried_in_air, done->plan.placements[i].tried_in_air);
    return std::move(*done);
  }
  static bool says(const Outcome& out, const std::string& text) {
    return std::ranges::any_of(out.result.diagnosis.remarks, [&](const std::string& r) {
      return r.find(text) != std::string::npos;
    });
  }

  std::filesystem::path dir_;
  expect::Board board_ = test::two_nets();
  test::FakeBench bench_;
  Hooks hooks_;
  std::set<std::pair<int, int>> touching_;
  Lifted lifted_{Lifted::placement};
  bool lies_{false}, check_on_5_{true};
  std::string happened_;
};

TEST_F(RunInTheAir, EachPlacementIsLiftedBeforeItIsLaid) {
  const Outcome out = run(2);
  EXPECT_EQ(happened_, "lift A lay A lift B lay B ");
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_FALSE(says(out, "in the air"));
}

TEST_F(RunInTheAir, WhereAllWiresAreTheSameItIsDoneOnce) {
  lifted_ = Lifted::all;
  const Outcome out = run(2);
  EXPECT_EQ(happened_, "lift A lay A lay B ");
  EXPECT_TRUE(out.plan.placements[1].tried_in_air);
}

// The board is open between 1 and 2, which their wires hide.
TEST_F(RunInTheAir, WiresOfOneNetThatTouchEndTheRun) {
  touching_ = {{1, 2}};
  const Outcome out = run();
  EXPECT_EQ(happened_, "lift A ");
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "SES-034");
  EXPECT_NE(out.stopped->message.find("1 (J1.1) and 2 (J1.2)"), std::string::npos)
      << out.stopped->message;
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::incomplete);
  EXPECT_TRUE(out.readings.empty());
}

TEST_F(RunInTheAir, WithoutItTheVerdictSaysWhatIsOpen) {
  lifted_ = Lifted::none;
  Outcome out = run();
  EXPECT_TRUE(says(out, "placement A: wires and tips were not tried in the air"));
  hooks_.lift = nullptr;
  out = run();
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_TRUE(says(out, "not tried in the air"));
}

// Channel 5, which the check is asked of elsewhere, has a tip here.
TEST_F(RunInTheAir, ACheckThatCouldNotSayNoProvesNothing) {
  check_on_5_ = false;
  lifted_ = Lifted::none;
  const Outcome untried = run();
  EXPECT_EQ(untried.result.diagnosis.verdict, diagnose::Verdict::incomplete);
  EXPECT_TRUE(says(untried, "placement A: the adapter's contact check was never seen to say no"));
  lifted_ = Lifted::placement;
  EXPECT_EQ(run().result.diagnosis.verdict, diagnose::Verdict::pass);
}

TEST_F(RunInTheAir, AZeroThatTriedItIsEnough) {
  hooks_.zero = Zero{"", "", "", 4, 0, {}, {"A"}};
  for (Channel c = 1; c <= 4; ++c) hooks_.zero->placements["A"][c] = {};
  const Outcome out = run();
  EXPECT_EQ(happened_, "lay A ");
  EXPECT_FALSE(says(out, "in the air"));
}

// Hours have passed since; where nobody has to do it, it is done again.
TEST_F(RunInTheAir, ASimulatorIsTriedAgain) {
  hooks_.zero = Zero{"", "", "", 4, 0, {}, {"A"}};
  for (Channel c = 1; c <= 4; ++c) hooks_.zero->placements["A"][c] = {};
  bench_.capabilities += ";SIMULATED 1";
  touching_ = {{1, 2}};
  const Outcome out = run();
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "SES-034");
}

}  // namespace
}  // namespace isthmus::session
