// SPDX-License-Identifier: Apache-2.0
// Readings near a limit, below zero, or of an adapter that leaks: doubt, asked again, never a pass
// and never a fault.
#include <gtest/gtest.h>

#include <algorithm>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using plan::Measured;
using plan::StepKind;

class Doubt : public ::testing::Test {
 protected:
  static const expect::Board& board() {
    static const test::SmallBoard small;
    return small.board();
  }
  static test::FakeBench bench() { return {board(), test::plan_for(board(), {64, true})}; }
  // One whose switches the plan closes alone against the others.
  static std::optional<formats::Channel> loaded_channel(const plan::Plan& plan) {
    const auto loaded = std::ranges::find_if(plan.steps, [](const plan::Step& s) {
      return s.kind == StepKind::control_short && s.source.size() == 1 && s.ret.size() > 2;
    });
    if (loaded == plan.steps.end()) return std::nullopt;
    return loaded->source.front();
  }
  static bool on(const plan::Step& s, const std::string& point) {
    return std::ranges::any_of(s.points,
                               [&](PointId p) { return board().expectation.point(p).id == point; });
  }
  // Every continuity reading of that point answers so.
  static Diagnosis continuity(double ohms, double uncertainty) {
    auto b = bench();
    b.meddle = [=](const plan::Step& s, plan::Outcome& o) {
      if (s.kind == StepKind::continuity && on(s, "U3.1")) o = Measured{ohms, uncertainty};
    };
    return b.run();
  }
  // A leak of so many ohms, read with that uncertainty.
  static Diagnosis isolation(double ohms, double uncertainty) {
    auto b = bench();
    b.tie("U2.1", "U2.2", ohms);
    b.meddle = [=](const plan::Step& s, plan::Outcome& o) {
      auto* m = std::get_if<Measured>(&o);
      if (s.kind == StepKind::isolation && m) m->uncertainty = uncertainty;
    };
    return b.run();
  }
  static bool says(const Diagnosis& d, const std::string& why) {
    return std::ranges::any_of(d.untested, [&](const Untested& u) { return u.why == why; });
  }
};

// Guarded acceptance and rejection with U = 2u (JCGM 106:2012, 8.3): limit 10 ohm, u 0.2 ohm.
TEST_F(Doubt, LiesWithinTwoDeviationsOfTheContinuityLimit) {
  ASSERT_EQ(board().design.board.limits.continuity.value, 10);
  for (const double ohms : {9.7, 10.0, 10.3}) {
    const Diagnosis d = continuity(ohms, 0.2);
    EXPECT_EQ(d.verdict, Verdict::incomplete) << ohms;
    EXPECT_TRUE(d.findings.empty()) << ohms;
  }
  const Diagnosis beyond = continuity(50, 0.2);
  ASSERT_EQ(beyond.findings.size(), 1u);
  EXPECT_EQ(beyond.findings[0].kind, FindingKind::open);
}

// Limit 10 Mohm, u 0.1 Mohm.
TEST_F(Doubt, LiesWithinTwoDeviationsOfTheIsolationLimit) {
  ASSERT_EQ(board().design.board.limits.isolation.value, 1e7);
  for (const double ohms : {9.85e6, 1.0e7, 1.015e7}) {
    const Diagnosis d = isolation(ohms, 1e5);
    EXPECT_EQ(d.verdict, Verdict::incomplete) << ohms;
    EXPECT_TRUE(d.findings.empty()) << ohms;
    EXPECT_TRUE(says(d, "doubtful")) << ohms;
  }
  EXPECT_EQ(isolation(1.03e7, 1e5).verdict, Verdict::pass);
  EXPECT_EQ(isolation(9.7e6, 1e5).verdict, Verdict::fail);
}

TEST_F(Doubt, IsAResistanceBelowZeroByThreeDeviations) {
  EXPECT_EQ(continuity(-0.2, 0.1).verdict, Verdict::pass);
  const Diagnosis d = continuity(-0.4, 0.1);
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
}

// The copper from U1.1 to U3.1 is some milliohm: a sense switch that does not close reads 0.
TEST_F(Doubt, IsFarLessResistanceThanTheCopperHas) {
  const Diagnosis d = continuity(0, 1e-5);
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(continuity(0, 0.1).verdict, Verdict::pass)
      << "too little is not known of so poor a meter";
}

TEST_F(Doubt, IsAskedAgainAndClearedByASecondLook) {
  auto b = bench();
  int asked = 0;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::isolation && ++asked == 1) o = plan::NoReading{"hum"};
  };
  EXPECT_EQ(b.run().verdict, Verdict::pass);
  auto c = bench();
  asked = 0;
  c.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::contact && ++asked == 1) o = plan::NoReading{"hum"};
  };
  EXPECT_EQ(c.run().verdict, Verdict::pass);
}

// A whisker that is there for the first reading alone; leakages that add up are none.
TEST_F(Doubt, IsAPoolThatConductedAndWhosePairsDoNot) {
  const auto first_reads = [&](double ohms) {
    auto b = bench();
    int asked = 0;
    b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
      if (s.kind == StepKind::isolation && ++asked == 1) o = Measured{ohms, ohms / 1000};
    };
    return b.run();
  };
  const Diagnosis hard = first_reads(0.5);
  EXPECT_EQ(hard.verdict, Verdict::incomplete);
  EXPECT_TRUE(hard.findings.empty());
  EXPECT_TRUE(says(hard, "doubtful"));
  EXPECT_EQ(first_reads(8e6).verdict, Verdict::pass);
}

// Over-range whatever the board has: switches that do not pull in, or a converter that times out.
TEST_F(Doubt, IsAllThatAMeterReadsWhichGivesUpOnManySwitches) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.volts.value > 0 && s.source.size() + s.ret.size() > 4) o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
}

// The switches of one channel drop out when others are on.
TEST_F(Doubt, IsWhatASwitchReadsThatDropsOutUnderLoad) {
  auto b = bench();
  const auto weak = loaded_channel(b.plan());
  ASSERT_TRUE(weak);
  b.meddle = [=](const plan::Step& s, plan::Outcome& o) {
    const bool alone = s.source == std::vector{*weak} || s.ret == std::vector{*weak};
    if (alone && s.source.size() + s.ret.size() > 3) o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
}

// It is proven before and after by current, and touches nothing while the isolation is read.
TEST_F(Doubt, IsWhatATipReadsThatTheTestVoltageLifts) {
  auto b = bench();
  const auto lifted = loaded_channel(b.plan());
  ASSERT_TRUE(lifted);
  b.meddle = [=](const plan::Step& s, plan::Outcome& o) {
    const bool alone = s.source == std::vector{*lifted} || s.ret == std::vector{*lifted};
    if (s.volts.value > 0 && alone) o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
}

TEST_F(Doubt, IsAllThatAContactCheckSaysWhichNeverSaysNo) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.by_check()) o = Measured{1, 0};
  };
  EXPECT_EQ(b.run().verdict, Verdict::incomplete);
}

TEST_F(Doubt, IsALeakInOnePolarityAlone) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 2e6);
  std::vector<std::pair<formats::Channel, formats::Channel>> single;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.kind != StepKind::isolation || s.source.size() + s.ret.size() != 2) return;
    single.push_back({s.source[0], s.ret[0]});
    if (s.source[0] > s.ret[0]) o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_TRUE(says(d, "doubtful"));
  ASSERT_FALSE(single.empty());
  const std::pair reversed{single[0].second, single[0].first};
  EXPECT_NE(std::ranges::find(single, reversed), single.end());
}

// A pair that leaks is measured in both polarities, and the switches alone with the same channels
// closed. What the switches explain is no fault of the board, and no pass either.
TEST_F(Doubt, IsALeakThatTheSwitchesExplain) {
  for (const double switches : {1e12, 1.1e7}) {
    auto b = bench();
    b.tie("U2.1", "U2.2", 8e6);
    b.meddle = [=](const plan::Step& s, plan::Outcome& o) {
      if (s.kind == StepKind::control_open && s.volts.value > 0 &&
          s.source.size() + s.ret.size() == 1)
        o = Measured{2 * switches, switches / 1000};
    };
    const Diagnosis d = b.run();
    EXPECT_EQ(d.verdict, switches > 1e9 ? Verdict::fail : Verdict::incomplete) << switches;
    EXPECT_EQ(d.findings.size(), switches > 1e9 ? 1u : 0u) << switches;
  }
}

// A tip and its twin that touch each other conduct whatever lies under them.
TEST_F(Doubt, IsATipThatItsTwinAloneProvesUntriedInTheAir) {
  const plan::Plan plan = test::plan_for(board(), {64, false});
  ASSERT_FALSE(plan.placements.empty());
  test::FakeBench tried(board(), plan), untried(board(), plan);
  EXPECT_EQ(tried.run().verdict, Verdict::pass);
  for (std::size_t p = 0; p < plan.placements.size(); ++p) untried.not_in_air(p);
  const Diagnosis d = untried.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
  EXPECT_TRUE(std::ranges::any_of(d.untested,
                                  [](const Untested& u) { return u.why == "contact-unproven"; }));
  ASSERT_FALSE(d.remarks.empty());
  EXPECT_TRUE(std::ranges::any_of(d.remarks, [](const std::string& r) {
    return r.find("a twin tip proves no contact") != std::string::npos;
  }));
  // Asking such a tip again is vain.
  EXPECT_LE(untried.readings().size(), tried.readings().size() * 2);
}

}  // namespace
}  // namespace isthmus::diagnose
