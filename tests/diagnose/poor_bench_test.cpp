// SPDX-License-Identifier: Apache-2.0
// Good and bad boards on a bench that is merely poor. Oracle: the bench's own resistors
// (tests/support/fake_bench); what tips may have: 0.05 ohm when bright, 0.15 +- 50 % when worn, 1.5
// to 15 ohm on tarnish (common practice, no source).
#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using formats::Channel;

class PoorBench : public ::testing::Test {
 protected:
  static const expect::Board& board() {
    static const test::SmallBoard small;
    static const expect::Board tight = [] {
      expect::Board b = small.board();
      b.design.board.limits.excess = {0.2};  // as `import` writes
      return b;
    }();
    return tight;
  }
  static test::FakeBench bench(bool contact_check) {
    return {board(), test::plan_for(board(), {64, contact_check})};
  }
  static test::FakeBench with_twins() { return bench(false); }
  static test::FakeBench with_single_tips() { return bench(true); }

  static const plan::Probe& probe(const test::FakeBench& b, const std::string& point) {
    for (const plan::Probe& p : b.plan().placements.at(0).probes) {
      if (board().expectation.point(p.point).id == point) return p;
    }
    throw std::runtime_error("no probe on " + point);
  }
  static std::string words_on(const Diagnosis& d, const std::string& why) {
    std::string words;
    for (const Untested& u : d.untested) words += u.why == why ? u.detail + "\n" : "";
    return words;
  }
  static bool remarks(const Diagnosis& d, const std::string& words) {
    return std::ranges::any_of(
        d.remarks, [&](const std::string& r) { return r.find(words) != std::string::npos; });
  }
  static void wear(test::FakeBench& b, unsigned seed) {  // all tips 0.15 +- 50 %
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> share(-0.5, 0.5);
    for (Channel c = 1; c <= 64; ++c) b.dull(c, 0.15 * (1 + share(random)) - 0.05);
  }
};

TEST_F(PoorBench, ADullTipIsToldFromCopperByItsTwin) {
  for (const double ohms : {1.5, 3.0, 8.0, 15.0}) {
    for (const char* point : {"U1.1", "U3.1", "U1.3"}) {
      auto b = with_twins();
      b.dull(probe(b, point).channel, ohms);
      const Diagnosis d = b.run();
      EXPECT_EQ(d.verdict, Verdict::pass) << ohms << " at " << point << words_on(d, "poor-contact");
      EXPECT_TRUE(remarks(d, "channel " + std::to_string(probe(b, point).channel) + " on " + point))
          << ohms << " at " << point;
    }
  }
}

TEST_F(PoorBench, ADullTwinDoesNoHarmEither) {
  auto b = with_twins();
  b.dull(*probe(b, "U3.1").twin, 3);
  EXPECT_EQ(b.run().verdict, Verdict::pass);
}

TEST_F(PoorBench, ADullSingleTipIsNamedAndIsNoFault) {
  for (const double ohms : {1.5, 3.0, 8.0, 15.0}) {
    for (const char* point : {"U1.1", "U2.1", "U3.1", "U1.5", "J1.1", "J1.3"}) {
      auto b = with_single_tips();
      b.dull(probe(b, point).channel, ohms);
      const Diagnosis d = b.run();
      EXPECT_EQ(d.verdict, Verdict::incomplete) << ohms << " at " << point;
      EXPECT_TRUE(d.findings.empty()) << ohms << " at " << point;
      const std::string words = words_on(d, "poor-contact");
      EXPECT_NE(words.find("channel " + std::to_string(probe(b, point).channel) + " on " + point),
                std::string::npos)
          << ohms << ": " << words;
    }
  }
}

TEST_F(PoorBench, WornTipsAreNoFault) {
  for (const bool contact_check : {true, false}) {
    for (unsigned seed = 0; seed < 10; ++seed) {
      auto b = bench(contact_check);
      wear(b, seed);
      const Diagnosis d = b.run();
      EXPECT_EQ(d.verdict, Verdict::pass) << contact_check << " " << seed;
    }
  }
}

TEST_F(PoorBench, CopperIsFoundBehindWornTips) {
  for (const bool contact_check : {true, false}) {
    for (unsigned seed = 0; seed < 10; ++seed) {
      auto b = bench(contact_check);
      wear(b, seed);
      b.add_resistance("U2.1", "U3.1", 0.9);
      const Diagnosis d = b.run();
      ASSERT_EQ(d.findings.size(), 1U) << contact_check << " " << seed;
      EXPECT_EQ(d.findings[0].kind, FindingKind::high_resistance);
    }
  }
}

TEST_F(PoorBench, ACrackIsFoundBehindADullTipWithATwin) {
  for (const double crack : {0.4, 3.0, 9.0}) {
    auto b = with_twins();
    b.add_resistance("U2.1", "U3.1", crack);
    b.dull(probe(b, "U3.1").channel, 4);
    const Diagnosis d = b.run();
    ASSERT_EQ(d.findings.size(), 1U) << crack;
    EXPECT_EQ(d.findings[0].kind, FindingKind::high_resistance);
    EXPECT_NEAR(d.findings[0].measured->value, crack + 0.02, 0.02);
  }
  auto open = with_twins();
  open.add_resistance("U2.1", "U3.1", 12);
  const Diagnosis d = open.run();
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].kind, FindingKind::open);
}

// 3 ohm while it was read against its twin, bright when the copper was: that would hide a crack.
TEST_F(PoorBench, ATipThatComesAndGoesTellsNothing) {
  auto b = with_twins();
  b.add_resistance("U2.1", "U3.1", 1.4);
  const Channel tip = probe(b, "U3.1").channel;
  int asked = 0;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    auto* m = std::get_if<plan::Measured>(&o);
    if (s.kind == plan::StepKind::contact && m && s.tip() == tip && ++asked <= 2) m->value += 3;
  };
  const Diagnosis d = b.run();
  EXPECT_NE(d.verdict, Verdict::pass);
}

// J1.1 and J1.2 on one side of it, J1.3 and J1.4 on the other: no contact makes both far.
TEST_F(PoorBench, ACrackBetweenTwoAndTwoTipsIsCopperWithoutTwins) {
  for (const double crack : {2.0, 5.0}) {
    auto b = with_single_tips();
    b.add_resistance("J1.2", "J1.3", crack);
    const Diagnosis d = b.run();
    ASSERT_EQ(d.findings.size(), 1U) << crack << words_on(d, "poor-contact");
    EXPECT_EQ(d.findings[0].kind, FindingKind::high_resistance);
  }
  auto b = with_single_tips();
  b.add_resistance("J1.2", "J1.3", 15);
  const Diagnosis d = b.run();
  ASSERT_EQ(d.findings.size(), 1U) << words_on(d, "poor-contact");
  EXPECT_EQ(d.findings[0].kind, FindingKind::open);
}

TEST_F(PoorBench, NoCrackPassesWhateverItsTips) {
  for (const double crack : {1.0, 1.5, 3.0, 9.0, 12.0, 30.0, 60.0}) {
    for (const bool contact_check : {true, false}) {
      auto b = bench(contact_check);
      b.add_resistance("U1.5", "U2.5", crack);
      EXPECT_NE(b.run().verdict, Verdict::pass) << crack << " " << contact_check;
    }
  }
}

TEST_F(PoorBench, AFixtureCannotSwitchExcessOff) {
  for (const double contact : {0.5, 5.0, 50.0}) {
    Diagnostics notes;
    auto fixture = plan::make_fixture(board(), {64, true}, notes);
    ASSERT_TRUE(fixture);
    fixture->tip_contact = Ohms{contact};
    fixture->tip_contact_spread = 10;
    auto plan = test::foretold_plan(board(), *fixture, {4, {10.0}}, notes);
    ASSERT_TRUE(plan);
    test::FakeBench b(board(), *plan);
    b.add_resistance("U2.1", "U3.1", 0.9);
    EXPECT_EQ(b.run().verdict, Verdict::fail) << contact;
  }
}

TEST_F(PoorBench, ATipThatNothingElseConductsToIsNamedUnlessItHasATwin) {
  const std::string words = "nothing else is on the copper of";
  EXPECT_TRUE(remarks(with_single_tips().run(), words));
  EXPECT_FALSE(remarks(with_twins().run(), words));
}

TEST_F(PoorBench, WhatCannotBeNoticedIsSaid) {
  auto bright = with_twins(), worn = with_twins();
  wear(worn, 3);
  const auto floor = [](const Diagnosis& d) {
    for (const std::string& r : d.remarks) {
      const std::string begin = "high resistance is noticed from ";
      if (r.starts_with(begin)) return std::stod(r.substr(begin.size()));
    }
    return -1.0;
  };
  const double best = floor(bright.run()), worst = floor(worn.run());
  EXPECT_GE(best, 0.2);
  EXPECT_GT(worst, best);
  // A crack of that size is found.
  auto b = with_twins();
  wear(b, 3);
  b.add_resistance("U2.1", "U3.1", worst + 0.05);
  EXPECT_EQ(b.run().verdict, Verdict::fail);
}

// Of copper whose resistance is nearly nothing a wrong foil hides nothing; of 20 times as much it does.
TEST_F(PoorBench, AThicknessThatNoFoilHasIsSaidAndJudgedByAsFarAsItMatters) {
  for (const double share : {1.0, 20.0}) {
    expect::Board thick = board();
    thick.design.board.copper.thickness = {1'000'000};
    plan::Plan plan = test::plan_for(thick, {64, true});
    ASSERT_FALSE(plan.placements.empty());
    for (plan::Step& step : plan.steps) {
      if (step.predicted) step.predicted->ohms.value *= share * 35 / 1000;
    }
    test::FakeBench b(thick, plan);
    const Diagnosis d = b.run();
    EXPECT_TRUE(d.findings.empty());
    EXPECT_TRUE(remarks(d, "check copper: thickness (stated 1000 um")) << share;
    const bool told = words_on(d, "doubtful").find("check copper: thickness") == std::string::npos;
    EXPECT_EQ(d.verdict, share > 1 ? Verdict::incomplete : Verdict::pass) << share;
    EXPECT_EQ(told, share == 1) << share;
  }
}

}  // namespace
}  // namespace isthmus::diagnose
