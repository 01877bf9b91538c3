// SPDX-License-Identifier: Apache-2.0
// The readings come from a list of who conducts to whom (tests/support/fake_bench), so what must be
// found is known.
#include <gtest/gtest.h>

#include <algorithm>

#include "isthmus/diagnose/diagnosis.hpp"
#include "plan/ideal.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using plan::StepKind;
using Strings = std::vector<std::string>;
using Parts = std::vector<Strings>;

class OnSmallBoard : public ::testing::Test {
 protected:
  static void SetUpTestSuite() { small_ = new test::SmallBoard; }
  static void TearDownTestSuite() {
    delete small_;
    small_ = nullptr;
  }
  static const expect::Board& board() { return small_->board(); }

  static plan::Plan make(bool contact_check, int channels = 64) {
    return test::plan_for(board(), {channels, contact_check});
  }
  static test::FakeBench bench(bool contact_check = true, int channels = 64) {
    return {board(), make(contact_check, channels)};
  }

  static bool says(const Diagnosis& d, const std::string& why) {
    return std::ranges::any_of(d.untested, [&](const Untested& u) { return u.why == why; });
  }
  static const Finding& only(const Diagnosis& d) {
    EXPECT_EQ(d.findings.size(), 1u);
    static const Finding none{};
    return d.findings.size() == 1 ? d.findings[0] : none;
  }

 private:
  static inline test::SmallBoard* small_ = nullptr;
};

TEST_F(OnSmallBoard, AHealthyBoardPassesWithContactCheckAndWithTwins) {
  for (bool check : {true, false}) {
    const Diagnosis d = bench(check).run();
    EXPECT_EQ(d.verdict, Verdict::pass)
        << "contact check " << check << (d.untested.empty() ? "" : d.untested[0].why);
    EXPECT_EQ(d.coverage.tested, d.coverage.required);
    EXPECT_TRUE(d.findings.empty());
  }
}

TEST_F(OnSmallBoard, AHealthyBoardPassesOverSeveralPlacements) {
  const Diagnosis d = bench(true, 8).run();
  EXPECT_EQ(d.verdict, Verdict::pass)
      << (d.untested.empty() ? "" : d.untested[0].why + " " + d.untested[0].detail);
}

TEST_F(OnSmallBoard, AnUnfinishedRunNeverPasses) {
  EXPECT_EQ(bench().run(false).verdict, Verdict::incomplete);
}

TEST_F(OnSmallBoard, TheVerdictCountsPairsToo) {
  const Diagnosis whole = bench().run();
  EXPECT_EQ(whole.coverage.pairs_required, board().expectation.pairs.size());
  EXPECT_EQ(whole.coverage.pairs_tested, whole.coverage.pairs_required);
  EXPECT_EQ(whole.coverage.pairs_beyond_window, board().expectation.pairs_beyond_window);
  auto lifted = bench();
  lifted.lift("U1.3");
  EXPECT_LT(lifted.run().coverage.pairs_tested, whole.coverage.pairs_tested);
}

TEST_F(OnSmallBoard, AllPointsWaivedIsNoPass) {
  auto waived = board();
  for (expect::Point& p : waived.expectation.points) {
    p.waived = true;
    waived.expectation.waivers.push_back({p.id, p.net, "not today"});
  }
  const Diagnosis d = diagnose(waived, plan::Plan{}, {}, true);
  EXPECT_EQ(d.coverage.waived, d.coverage.required);
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  ASSERT_EQ(d.waived.size(), waived.expectation.points.size());
  EXPECT_EQ(d.waived[0].why, "not today");
}

TEST_F(OnSmallBoard, WhatARunThatBrokeOffDidNotReachIsSaidSo) {
  const plan::Plan plan = make(true);
  const Diagnosis d = diagnose(board(), plan, {}, false);
  ASSERT_FALSE(d.untested.empty());
  for (const Untested& u : d.untested) EXPECT_EQ(u.why, "broken-off") << u.net << " " << u.detail;
}

// Every row's points are on the row's own net.
TEST_F(OnSmallBoard, UntestedRowsHoldPointsOfTheirOwnNetAlone) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::contact && s.closing) o = plan::Measured{0, 0};
  };
  const Diagnosis d = b.run();
  ASSERT_FALSE(d.untested.empty());
  for (const Untested& u : d.untested) {
    for (const std::string& id : u.points) {
      const auto p = expect::find_point(board().expectation, id, std::nullopt);
      ASSERT_TRUE(p) << id;
      EXPECT_EQ(board().expectation.point(*p).net, u.net) << id;
    }
    EXPECT_EQ(u.detail.find("a contact check would"), std::string::npos) << u.detail;
  }
}

// The meter hears current where there is none, and only sometimes: its controls say so.
TEST_F(OnSmallBoard, WhatAMeterWithWrongControlsHearsIsDoubtNotAFinding) {
  auto b = bench();
  std::size_t wrong = 0;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.volts.value <= 0) return;
    if (s.kind == StepKind::isolation) o = plan::Measured{24.7e3, 100};
    if (s.kind == StepKind::control_open && ++wrong == 1) o = plan::Measured{24.7e3, 100};
  };
  const Diagnosis d = b.run();
  EXPECT_GT(wrong, 1u) << "later blocks had right controls";
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(says(d, "doubtful"));
}

TEST_F(OnSmallBoard, AnOpenIsFoundWithItsFragments) {
  auto b = bench();
  b.cut("U2.1", "U3.1");
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::fail);
  const Finding& f = only(d);
  EXPECT_EQ(f.kind, FindingKind::open);
  EXPECT_EQ(f.nets, Strings{"ALPHA"});
  EXPECT_EQ(f.parts, (Parts{{"U1.1", "U2.1"}, {"U3.1"}}));
}

TEST_F(OnSmallBoard, TheOpensFirstSuspectIsTheTrackBetweenTheFragments) {
  auto b = bench();
  b.cut("U2.1", "U3.1");
  const Diagnosis d = b.run();
  ASSERT_FALSE(only(d).suspects.empty());
  const Suspect& s = only(d).suspects[0];
  EXPECT_EQ(s.side, "top");
  EXPECT_EQ(s.separates, (std::array<std::size_t, 2>{0, 1}));
  EXPECT_GE(s.at.x, position_mm(12, 2).x);
  EXPECT_LE(s.at.x, position_mm(22, 2).x);
}

TEST_F(OnSmallBoard, AnOpenInTheMiddleGivesTwoFragmentsAlsoWhenTheHubIsCutOff) {
  auto b = bench();
  b.cut("U1.1", "U2.1");
  EXPECT_EQ(only(b.run()).parts, (Parts{{"U1.1"}, {"U2.1", "U3.1"}}));
}

TEST_F(OnSmallBoard, AMissingJoinIsAnOpenWithTheHoleAsSuspect) {
  auto b = bench();
  b.cut("U1.4", "U4.1");
  const Diagnosis d = b.run();
  const Finding& f = only(d);
  EXPECT_EQ(f.kind, FindingKind::open);
  ASSERT_FALSE(f.suspects.empty());
  EXPECT_TRUE(std::ranges::any_of(
      f.suspects, [](const Suspect& s) { return s.at == position_mm(12, 6) && s.side == "both"; }));
}

TEST_F(OnSmallBoard, ABridgeNamesItsTwoNetsAndThePlaceBetween) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 0.2);
  const Diagnosis d = b.run();
  const Finding& f = only(d);
  EXPECT_EQ(f.kind, FindingKind::bridge);
  EXPECT_EQ(f.nets, (Strings{"ALPHA", "BETA"}));
  EXPECT_EQ(f.parts.size(), 2u);
  ASSERT_FALSE(f.suspects.empty());
  EXPECT_EQ(f.suspects[0].nets, (Strings{"ALPHA", "BETA"}));
}

TEST_F(OnSmallBoard, ThreeNetsThatConductAreOneBridge) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 0.2);
  b.tie("U1.2", "U1.3", 5);
  const Diagnosis d = b.run();
  EXPECT_EQ(only(d).nets.size(), 3u);
}

TEST_F(OnSmallBoard, TwoSeparateBridgesAreTwoFindings) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 0.2);
  b.tie("U1.4", "U1.5", 0.2);
  EXPECT_EQ(b.run().findings.size(), 2u);
}

TEST_F(OnSmallBoard, AWhiskerOfAKiloohmIsABridgeAndAMegohmIsLeakage) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 900);
  EXPECT_EQ(only(b.run()).kind, FindingKind::bridge);
  auto c = bench();
  c.tie("U2.1", "U2.2", 2e6);
  const Diagnosis d = c.run();
  EXPECT_EQ(only(d).kind, FindingKind::leakage);
  EXPECT_NEAR(only(d).measured->value, 2e6, 1);
}

TEST_F(OnSmallBoard, HealthyLeakagesThatAddUpInAPoolAreNoFinding) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 30e6);
  b.tie("U1.2", "U1.3", 30e6);
  b.tie("U1.4", "U1.5", 30e6);
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::pass)
      << (d.untested.empty() ? "" : d.untested[0].why + " " + d.untested[0].detail);
}

TEST_F(OnSmallBoard, AnOpenNetsFarFragmentIsStillTestedForBridges) {
  auto b = bench();
  b.cut("U2.1", "U3.1");
  b.tie("U3.1", "U3.2", 0.2);
  const Diagnosis d = b.run();
  ASSERT_EQ(d.findings.size(), 2u);
  EXPECT_EQ(d.findings[0].kind, FindingKind::open);
  EXPECT_EQ(d.findings[1].kind, FindingKind::bridge);
  EXPECT_EQ(d.findings[1].parts[0], Strings{"U3.1"});
}

TEST_F(OnSmallBoard, ALiftedTipIsNoContactNotAnOpenAndNotAPass) {
  for (const char* point : {"U3.1", "U1.3", "U1.1"}) {
    auto b = bench();
    b.lift(point);
    const Diagnosis d = b.run();
    EXPECT_TRUE(d.findings.empty()) << point;
    EXPECT_EQ(d.verdict, Verdict::incomplete) << point;
    EXPECT_TRUE(says(d, "no-contact")) << point;
  }
}

TEST_F(OnSmallBoard, ALiftedTwinOfALonePadIsNotTested) {
  auto b = bench(false);
  b.lift("U1.3");
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
}

TEST_F(OnSmallBoard, AContactLostBeforeTheEndLeavesIsolationUnproven) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::contact && s.closing) o = plan::Measured{0, 0};
  };
  EXPECT_EQ(b.run().verdict, Verdict::incomplete);
}

TEST_F(OnSmallBoard, AContactNotProvenAgainAfterTheIsolationIsNoPass) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::contact && s.closing) o = plan::NoReading{"lost"};
  };
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
}

TEST_F(OnSmallBoard, AStuckOpenSwitchNeverPasses) {
  const plan::Plan plan = make(true);
  for (const plan::Probe& p : plan.placements[0].probes) {
    auto b = bench();
    b.stick_open(2, p.channel);
    b.tie("U1.3", "U1.2", 0.2);
    EXPECT_NE(b.run().verdict, Verdict::pass) << "channel " << p.channel;
  }
}

TEST_F(OnSmallBoard, AStuckClosedSwitchNeverPasses) {
  const plan::Plan plan = make(true);
  for (const plan::Probe& p : plan.placements[0].probes) {
    for (int row : {1, 2}) {
      auto b = bench();
      b.stick_closed(row, p.channel);
      b.cut("U2.1", "U3.1");
      EXPECT_NE(b.run().verdict, Verdict::pass) << row << "!" << p.channel;
    }
  }
}

TEST_F(OnSmallBoard, AMeterStuckHighNeverPassesAndFindsNothing) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.kind != StepKind::contact && s.kind != StepKind::board_voltage) o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
}

TEST_F(OnSmallBoard, AMeterStuckLowNeverPassesAndFindsNothing) {
  auto b = bench();
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.kind != StepKind::board_voltage)
      o = plan::Measured{s.kind == StepKind::contact ? 1.0 : 0.1, 0};
  };
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(d.findings.empty());
}

TEST_F(OnSmallBoard, AMeterThatSticksHalfWayIsCaughtByTheControlsAfter) {
  auto b = bench();
  bool stuck = false;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::isolation) stuck = true;
    if (stuck && s.volts.value > 0) o = plan::OverRange{};
  };
  EXPECT_EQ(b.run().verdict, Verdict::incomplete);
}

TEST_F(OnSmallBoard, AReadingThatComesAndGoesIsDoubtNotAFault) {
  auto b = bench();
  int asked = 0;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    const bool it = s.kind == StepKind::continuity && !s.points.empty() && s.points.size() == 2 &&
                    board().expectation.point(s.points[1]).id == "U3.1";
    if (it && ++asked == 1) o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_TRUE(says(d, "doubtful"));
}

TEST_F(OnSmallBoard, TooMuchResistanceIsFoundWithTheStretch) {
  auto b = bench();
  b.add_resistance("U2.1", "U3.1", 1.1);
  const Diagnosis d = b.run();
  const Finding& f = only(d);
  EXPECT_EQ(f.kind, FindingKind::high_resistance);
  EXPECT_EQ(f.parts, (Parts{{"U1.1", "U2.1"}, {"U3.1"}}));
  ASSERT_FALSE(f.suspects.empty());
}

TEST_F(OnSmallBoard, TooMuchResistanceMeasuredOnceIsDoubt) {
  auto b = bench();
  b.add_resistance("U2.1", "U3.1", 1.1);
  std::set<std::pair<formats::Channel, formats::Channel>> asked;
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.kind != StepKind::continuity) return;
    if (!asked.insert({s.source.at(0), s.ret.at(0)}).second) o = plan::NoReading{"lost"};
  };
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  ASSERT_FALSE(d.untested.empty());
  EXPECT_TRUE(std::ranges::any_of(d.untested, [](const Untested& u) {
    return u.why == "doubtful" && u.detail.find("measured once") != std::string::npos &&
           std::ranges::find(u.points, "U3.1") != u.points.end();
  }));
}

// What a lost reading would have proven may follow from the others: a pad in the middle of a track
// whose tip is proven to touch, and through which the current between two others must run.
TEST_F(OnSmallBoard, OneLostReadingIsAPassOnlyWhereTheOthersProveWhatItWould) {
  auto whole = bench();
  ASSERT_EQ(whole.run().verdict, Verdict::pass);
  const plan::Plan& plan = whole.plan();
  std::size_t needed = 0, implied = 0;
  for (const plan::Step& lost : plan.steps) {
    if (lost.kind != StepKind::continuity || lost.closing) continue;
    const auto node = [&](formats::Channel c) {
      const plan::Probe& p = plan.placements[lost.placement].probe(c);
      return board().faults.node_of(p.point, p.side);
    };
    expect::Facts others = plan::ideal_facts(board(), plan.placements, plan.contact_check);
    const std::uint32_t from = node(lost.source[0]), to = node(lost.ret[0]);
    ASSERT_EQ(1, std::erase_if(others.one_piece, [&](const expect::Facts::Two& t) {
                return std::minmax(t.a, t.b) == std::minmax(from, to);
              }));
    const expect::Derived derived = expect::derive(board().faults.wiring, others);
    const bool follows =
        std::ranges::find(derived.state, expect::FaultState::cannot_tell) == derived.state.end();
    auto b = bench();
    b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
      if (s.kind == StepKind::continuity && s.source == lost.source && s.ret == lost.ret)
        o = plan::NoReading{"lost"};
    };
    EXPECT_EQ(b.run().verdict, follows ? Verdict::pass : Verdict::incomplete) << index(lost.id);
    (follows ? implied : needed) += 1;
  }
  EXPECT_GT(needed, 5u);
  EXPECT_GT(implied, 0u);
}

// Touching a hole from the top, then from the bottom, says nothing of the wire in it.
TEST(JoinBetweenASideAndTheOther, IsNotProvenByTouchingItFromBothInTurn) {
  const test::SmallBoard small("joined", true);
  Diagnostics notes;
  auto fixture = plan::make_fixture(small.board(), {64, true}, notes);
  ASSERT_TRUE(fixture);
  std::size_t clips = 0;  // a clip behind would prove the wire
  for (auto& placement : fixture->placements)
    clips += std::erase_if(placement.probes, [](const auto& p) { return p.second.clip; });
  EXPECT_EQ(clips, 1u);
  auto plan = test::foretold_plan(small.board(), *fixture, {4, {10.0}}, notes);
  ASSERT_TRUE(plan);
  ASSERT_GT(plan->placements.size(), 1u);
  EXPECT_TRUE(std::ranges::any_of(plan->untested, [](const auto& u) { return u.net == "GOLF"; }));
  test::FakeBench bench(small.board(), *plan);
  const Diagnosis d = bench.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  for (const Untested& u : d.untested) EXPECT_EQ(u.net, "GOLF") << u.why;
}

TEST_F(OnSmallBoard, ABridgesResistanceIsMeasuredWithoutTheSwitches) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 0.2);
  b.meddle = [](const plan::Step& s, plan::Outcome& o) {
    auto* m = std::get_if<plan::Measured>(&o);
    if (s.kind == StepKind::isolation && m) m->value += 8;  // two switches
  };
  EXPECT_LT(only(b.run()).measured->value, 1.0);
}

TEST_F(OnSmallBoard, FindingsComeInAFixedOrderAndTwiceTheSame) {
  const auto once = [] {
    auto b = bench();
    b.cut("U2.1", "U3.1");
    b.tie("U1.4", "U1.5", 0.2);
    return b.run();
  };
  EXPECT_EQ(once().findings, once().findings);
}

}  // namespace
}  // namespace isthmus::diagnose
