// SPDX-License-Identifier: Apache-2.0
#include "isthmus/session/zero.hpp"

#include <gtest/gtest.h>

#include "isthmus/session/session.hpp"
#include "tests/adapter/fake_adapter.hpp"

namespace isthmus::session {
namespace {

using test::FakeAdapter;
using test::FakeBench;

// Switches differ from row to row; the sum of the two that are used is what a pair reads.
double row1(int channel) { return 2 + 0.5 * channel; }
double row2(int channel) { return 7 - 0.3 * channel * channel; }

class TakingAZero : public ::testing::Test {
 protected:
  TakingAZero() {
    bench_.measure = [this](const test::SeenStep& step) {
      if (step.query == "VOLT") return std::pair{volts_, 0U};
      double ohms = 0;
      for (const auto& [row, channel] : step.closed) {
        if (row == 1) ohms += row1(channel);
        if (row == 2) ohms += row2(channel);
      }
      const bool moved = ++measured_ > moves_after_ && step.closed.contains({1, 4});
      return std::pair{ohms + (moved ? 0.3 : 0.0), 0U};
    };
    fixture_.channels = 8;
  }
  void channels(const std::vector<int>& all) {
    formats::PlacementEntry placement{"A", Side::top, {}, {}};
    for (const int c : all) placement.probes[c] = {"P" + std::to_string(c), {}, {}};
    fixture_.placements.push_back(placement);
  }
  Result<Zero> take() {
    auto instrument = adapter::Instrument::connect(std::make_unique<FakeAdapter>(bench_));
    if (!instrument) return instrument.problem();
    Hooks hooks;
    hooks.lay = [](const plan::Placement&, const auto&) { return Result<Done>(Done{}); };
    hooks.interrupted = [this] { return measured_ > stops_after_; };
    return take_zero(fixture_, **instrument, hooks);
  }
  FakeBench bench_;
  formats::FixtureFile fixture_;
  double volts_{};
  std::size_t measured_{}, moves_after_{1000}, stops_after_{1000};
};

TEST_F(TakingAZero, EveryPairIsTheSumOfItsTwoSwitches) {
  channels({1, 2, 4, 5});
  const auto zero = take();
  ASSERT_TRUE(zero) << format(zero.problem());
  for (const int a : {1, 2, 4, 5}) {
    for (const int b : {1, 2, 4, 5}) {
      if (a == b) continue;
      ASSERT_TRUE(ohms_of(*zero, "A", a, b));
      EXPECT_NEAR(*ohms_of(*zero, "A", a, b), row1(a) + row2(b), 1e-6) << a << " to " << b;
    }
  }
  EXPECT_FALSE(ohms_of(*zero, "A", 1, 3));
  EXPECT_FALSE(ohms_of(*zero, "B", 1, 2));
  EXPECT_GT(zero->uncertainty, 0);
}

TEST_F(TakingAZero, TwoChannelsAreEnough) {
  channels({3, 6});
  const auto zero = take();
  ASSERT_TRUE(zero) << format(zero.problem());
  EXPECT_NEAR(*ohms_of(*zero, "A", 3, 6), row1(3) + row2(6), 1e-6);
  EXPECT_NEAR(*ohms_of(*zero, "A", 6, 3), row1(6) + row2(3), 1e-6);
}

TEST_F(TakingAZero, ATipThatMovesMeanwhileIsNoticed) {
  channels({1, 2, 4, 5});
  for (const std::size_t after : {5U, 8U, 16U, 20U}) {  // also between two rounds of eight
    moves_after_ = after;
    measured_ = 0;
    const auto zero = take();
    ASSERT_FALSE(zero) << after;
    EXPECT_EQ(zero.problem().code, "SES-033");
    fixture_.placements.clear();
    channels({1, 2, 4, 5});
  }
}

TEST_F(TakingAZero, AVoltageUnderTheTipsIsRefused) {
  channels({1, 2, 4});
  volts_ = -0.4;
  const auto zero = take();
  ASSERT_FALSE(zero);
  EXPECT_EQ(zero.problem().code, "SES-007");
}

TEST_F(TakingAZero, StopsOnRequestBetweenTwoRounds) {
  channels({1, 2, 4, 5});  // eight pairs a round
  stops_after_ = 7;
  const auto zero = take();
  ASSERT_FALSE(zero);
  EXPECT_EQ(zero.problem().code, "SES-008");
  EXPECT_EQ(measured_, 8u);
}

TEST_F(TakingAZero, APairThatDoesNotConductIsNamed) {
  channels({1, 2, 4});
  bench_.measure = [](const test::SeenStep& step) {
    if (step.query == "VOLT") return std::pair{0.0, 0U};
    const bool off = step.closed.contains({1, 2}) && step.closed.contains({2, 4});
    return off ? std::pair{9.9e37, 1U} : std::pair{1.0, 0U};
  };
  const auto zero = take();
  ASSERT_FALSE(zero);
  EXPECT_EQ(zero.problem().code, "SES-033");
  EXPECT_EQ(zero.problem().message, "channels 2 and 4 of placement A do not conduct to each other");
}

TEST(Zeroed, TakesTheSwitchesOffAndKeepsTwoTouches) {
  Zero zero;
  zero.uncertainty = 0.003;
  const auto m = zeroed({8.25, 0.004}, 8.0, zero, Ohms{0.05});
  EXPECT_NEAR(m.value, 0.35, 1e-12);
  EXPECT_NEAR(m.uncertainty, 0.005, 1e-12);
}

TEST(Zeroed, IsVoidBeyondThreeStandardDeviationsBelowNothing) {
  // Scatter of two touches: sqrt 2 * 0.05 * 1 = 0.0707 ohm.
  EXPECT_FALSE(voids({-0.20, 0.001}, Ohms{0.05}, 1));
  EXPECT_TRUE(voids({-0.22, 0.001}, Ohms{0.05}, 1));
  EXPECT_FALSE(voids({-0.22, 0.1}, Ohms{0.05}, 1));
}

}  // namespace
}  // namespace isthmus::session
