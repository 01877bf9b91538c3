// SPDX-License-Identifier: Apache-2.0
// Landings of a needle: what they prove, and every way in which a bad board could pass by them.
// Oracle: the bench's own list of who conducts to whom.
#include <gtest/gtest.h>

#include <algorithm>

#include "diagnose/evidence.hpp"
#include "tests/diagnose/hand_trial.hpp"

namespace isthmus::diagnose {
namespace {

using plan::StepKind;
using test::HandTrial;
using Isolation = Landing::Isolation;

class ByHand : public ::testing::Test {
 protected:
  static const expect::Board& board() {
    static const test::SmallBoard small;
    return small.board();
  }
  HandTrial trial{board()};
};

TEST_F(ByHand, AGoodBoardPassesOnceEveryPadWasTouchedBetweenProofsOfAllClips) {
  trial.touch_all();
  const Diagnosis d = trial.diagnosis();
  EXPECT_EQ(d.verdict, Verdict::pass);
  EXPECT_TRUE(d.cannot_tell.empty());
  EXPECT_TRUE(d.untested.empty());
  EXPECT_TRUE(trial.wanted(true).empty());
}

TEST_F(ByHand, ALandingSaysWhatItRead) {
  trial.touch("U2.1");
  const Landing l = trial.touch("U3.1");
  EXPECT_TRUE(l.held && l.conducts && !l.apart && !l.too_much);
  EXPECT_EQ(l.isolation, Isolation::good);
  EXPECT_EQ(l.against, 4u);
  EXPECT_NEAR(l.ohms->value, 0.14, 0.03) << "two stretches of 0.02 ohm, 0.1 of contacts";
}

TEST_F(ByHand, AClipThatWasNeverProvenProvesNoIsolation) {
  for (const char* id : {"U2.1", "U3.1", "U2.1"}) trial.touch(id);
  const Diagnosis d = trial.diagnosis();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_EQ(d.bridges.excluded, 0u);
  EXPECT_EQ(trial.wanted(true).size(), 4u) << "the four others";
}

TEST_F(ByHand, AClipProvenBeforeAndNotAfterAsksToBeProvenAgain) {
  for (const char* id : {"U2.1", "U2.2"}) trial.touch(id);
  const auto asks = [&](const char* what) {
    const auto asked = trial.wanted(true);
    return std::ranges::find(asked, what) != asked.end();
  };
  EXPECT_TRUE(asks("prove-clip U2.1"));
  // What proves ALPHA's clip was itself read against BETA's, and asks for no more: the two are known
  // to be apart.
  trial.touch("U3.1");
  EXPECT_FALSE(asks("prove-clip U2.1") || asks("prove-clip U3.1"));
  EXPECT_FALSE(asks("prove-clip U2.2"));
}

// Read against BETA's clip after that was proven, and ALPHA's own clip never before: nothing is told
// until each was proven on either side.
TEST_F(ByHand, WhatIsReadBetweenOneProofAndNoneTellsNothing) {
  trial.touch("U2.2");
  trial.touch("U3.1");
  EXPECT_TRUE(trial.knowledge().facts().two_pieces.empty());
  trial.touch("U3.2");
  EXPECT_FALSE(trial.knowledge().facts().two_pieces.empty());
}

// From landing to landing another clip is gone: whatever it was read against then does not count.
TEST_F(ByHand, AClipThatFellOffNeverPasses) {
  for (plan::Channel clip = 1; clip <= 5; ++clip) {
    HandTrial t(board());
    t.touch_clips();
    t.bench.tie("U2.1", "U2.2", 5);
    t.bench.tie("U2.5", "J1.2", 5);
    t.fallen = {clip};
    t.touch_all();
    EXPECT_NE(t.diagnosis().verdict, Verdict::pass) << clip;
  }
}

// It fell off, and was back before it was next proven: only a needle on its net heard that it was gone.
TEST_F(ByHand, AClipHeardToBeGoneCountsForNothingUntilItIsProvenAgain) {
  trial.touch_clips();
  trial.fallen = {2};
  const Landing l = trial.touch("U3.2");
  EXPECT_TRUE(l.held) << "the fork stands";
  EXPECT_TRUE(l.apart);
  trial.touch("U3.1");
  trial.fallen = {};
  trial.touch("U2.2");
  for (const auto& two : trial.knowledge().facts().two_pieces) {
    const auto node = [&](const char* id) {
      return board().faults.node_of(*expect::find_point(board().expectation, id, std::nullopt),
                                    Side::top);
    };
    EXPECT_FALSE((two.a == node("U3.1") || two.b == node("U3.1")) &&
                 (two.a == node("U1.2") || two.b == node("U1.2")));
  }
}

// Pairs of nets that were read to be apart, of two points each.
bool told_apart(HandTrial& t, const expect::Board& board, const char* a, const char* b) {
  const auto piece = [&](const char* id) {
    const PointId p = *expect::find_point(board.expectation, id, std::nullopt);
    return board.faults.wiring.nodes[board.faults.node_of(p, Side::top)].piece;
  };
  return std::ranges::any_of(t.knowledge().facts().two_pieces, [&](const auto& two) {
    const auto& nodes = board.faults.wiring.nodes;
    const auto pair = std::minmax(nodes[two.a].piece, nodes[two.b].piece);
    return pair == std::minmax(piece(a), piece(b));
  });
}

// The check says that BETA's clip touches, as it does: another pad. The two nets are bridged.
TEST_F(ByHand, AContactIsNoProofOfWhereAClipHangs) {
  HandTrial t(board(), true, true);
  t.bench.tie("U1.1", "U1.2", 5);
  t.hooked[2] = "U1.3";
  for (const char* id : {"U2.1", "U3.1", "U2.1"}) {
    EXPECT_EQ(t.touch(id).isolation, Isolation::good) << "nothing is heard of it";
    EXPECT_FALSE(told_apart(t, board(), "U1.1", "U1.2"));
  }
  const auto asked = t.wanted(true);
  EXPECT_NE(std::ranges::find(asked, "prove-clip U2.2"), asked.end());
  EXPECT_FALSE(t.knowledge().unproven_clips(0).empty());
}

TEST_F(ByHand, AClipThatWasMetCountsByTheContactCheckFromThenOn) {
  HandTrial t(board(), true, true);
  t.touch("U3.1");
  t.touch("U2.2");
  EXPECT_FALSE(told_apart(t, board(), "U1.1", "U1.5")) << "ECHO's clip was not met";
  t.touch("U2.1");
  EXPECT_TRUE(told_apart(t, board(), "U1.1", "U1.2"));
}

// It was hooked on again, nobody knows where.
TEST_F(ByHand, AClipThatTheCheckMissedIsMetAnewBeforeItCounts) {
  HandTrial t(board(), true, true);
  t.touch("U2.2");
  t.fallen = {2};
  t.touch("J1.2");
  t.fallen = {};
  t.bench.tie("U1.1", "U1.2", 5);
  t.hooked[2] = "U1.3";
  for (const char* id : {"U2.1", "U3.1", "U2.1"}) t.touch(id);
  EXPECT_FALSE(told_apart(t, board(), "U1.1", "U1.2"));
}

// The needle may stand on the clip itself.
TEST_F(ByHand, ANeedleBesideTheClipSaysNothingOfItsIsolation) {
  for (const bool check : {true, false}) {
    HandTrial t(board(), true, check);
    for (const char* id : {"U1.2", "U2.1", "U3.1"}) t.touch(id);
    if (!check) t.touch("U1.2");
    EXPECT_FALSE(told_apart(t, board(), "U1.1", "U1.2")) << check;
  }
}

// Nowhere else is left to prove its clip.
TEST_F(ByHand, AnOpenBetweenTheTwoPadsOfANetIsFoundBesideItsClip) {
  for (const bool check : {true, false}) {
    HandTrial t(board(), true, check);
    t.bench.cut("U1.5", "U2.5");
    t.touch("U2.5");
    EXPECT_EQ(t.wanted(false).front(), "prove-clip U1.5") << check;
    for (const char* id : {"U1.5", "U2.5", "U1.5", "U2.5", "U1.5"}) t.touch(id);
    const Diagnosis d = t.diagnosis();
    ASSERT_EQ(d.findings.size(), 1u) << check;
    EXPECT_EQ(d.findings[0].kind, FindingKind::open);
    EXPECT_EQ(d.findings[0].nets, std::vector<std::string>{"ECHO"});
  }
}

// It hangs on other copper than was said: that is no open of the board's.
TEST_F(ByHand, AClipOnAnotherPadInventsNoOpen) {
  for (const bool check : {true, false}) {
    HandTrial t(board(), true, check);
    t.hooked[4] = "U1.3";  // ECHO's
    for (int i = 0; i < 3; ++i) {
      t.touch("U2.5");
      t.touch("U1.5");
    }
    EXPECT_TRUE(t.diagnosis().findings.empty()) << check;
  }
}

// The contact is gone for the pool alone, which then reads as perfect isolation.
TEST_F(ByHand, ANeedleLiftedInTheMiddleOfIsolationProvesNothing) {
  for (const bool forked : {true, false}) {
    HandTrial t(board(), forked);
    t.bench.tie("U2.1", "U2.2", 5);
    t.touch_clips();
    bool lifted = false;
    t.bench.meddle = [&](const plan::Step& s, plan::Outcome& o) {
      if (s.kind == StepKind::isolation) lifted = true;
      const bool needle = std::ranges::count(s.source, HandTrial::kNeedle) +
                              std::ranges::count(s.ret, HandTrial::kNeedle) >
                          0;
      if (lifted && needle && s.kind != StepKind::board_voltage) o = plan::OverRange{};
    };
    EXPECT_FALSE(t.touch("U3.1").held) << forked;
  }
}

TEST_F(ByHand, WhatWasTakenBackIsAsIfItHadNeverBeenRead) {
  HandTrial other(board());
  for (const char* id : {"U2.1", "U2.2", "U3.1"}) other.touch(id), trial.touch(id);
  trial.touch("U3.2", "U3.1");  // the wrong pad: reads as an open and a bridge
  trial.knowledge().take_back(trial.last, "undone");
  EXPECT_EQ(trial.diagnosis().findings.size(), 0u);
  EXPECT_EQ(trial.diagnosis().states, other.diagnosis().states);
  EXPECT_EQ(trial.wanted(true), other.wanted(true));
}

// A knife went through the bridge of ALPHA and BETA: of these two nothing counts that was read before,
// of the others everything does, and touched again they pass.
TEST_F(ByHand, OfReworkedCopperOnlyWhatIsReadSinceCounts) {
  trial.bench.tie("U3.1", "U3.2", 5);
  trial.touch_clips();
  trial.touch_all();
  ASSERT_EQ(trial.diagnosis().findings.size(), 1u);
  trial.bench.untie("U3.1", "U3.2");
  EXPECT_EQ(trial.diagnosis().findings.size(), 1u) << "nobody said so";
  trial.rework({"ALPHA", "BETA"});
  const Diagnosis d = trial.diagnosis();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  for (const auto& c : d.cannot_tell) {
    const bool near = std::ranges::any_of(
        c.nets, [](const std::string& n) { return n == "ALPHA" || n == "BETA"; });
    EXPECT_TRUE(near) << c.nets.front() << " was not reworked";
  }
  EXPECT_GT(d.bridges.excluded, 0u);
  trial.touch_all();
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::pass);
}

// A landing on DELTA heard ALPHA in its pool. ALPHA alone was reworked: of DELTA and the others that pool
// says nothing, neither good nor bad, and what the parts of it said stays.
TEST_F(ByHand, APoolThatConductedByWhatWasReworkedSaysNothing) {
  trial.bench.tie("U3.1", "U4.1", 5);
  trial.touch_clips();
  trial.touch_all();
  ASSERT_EQ(trial.diagnosis().findings.size(), 1u);
  trial.bench.untie("U3.1", "U4.1");
  trial.rework({"ALPHA"});
  const Diagnosis d = trial.diagnosis();
  EXPECT_TRUE(d.findings.empty());
  const auto& knowledge = trial.knowledge();
  const Evidence evidence(knowledge.plan(), knowledge.readings());
  for (std::size_t p = 0; p < knowledge.plan().placements.size(); ++p) {
    for (const IsolationReading& r : evidence.isolations(p)) EXPECT_TRUE(r.over_range) << p;
  }
  const std::set<std::string> alpha{"U1.1", "U2.1", "U3.1"};
  for (const auto& c : d.cannot_tell) {
    // A break of BETA with a bridge to ALPHA across it would read well: a touch of ALPHA tells.
    EXPECT_TRUE(std::ranges::any_of(c.would_tell, [&](const auto& p) { return alpha.contains(p); }))
        << c.nets.front();
  }
  EXPECT_FALSE(d.cannot_tell.empty());
}

// The iron made a new one: what was read apart before does not count.
TEST_F(ByHand, ABridgeThatReworkMadeIsNoPass) {
  trial.touch_clips();
  trial.touch_all();
  ASSERT_EQ(trial.diagnosis().verdict, Verdict::pass);
  trial.bench.tie("U3.1", "U3.2", 5);
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::pass) << "nobody said so";
  trial.rework({"ALPHA"});
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::incomplete);
  trial.touch_all();
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::fail);
}

// A finger's leak at two landings, with one between them that sounded well.
TEST_F(ByHand, ALeakThatCameAndWentIsNoFinding) {
  trial.touch_clips();
  trial.bench.tie("U3.1", "U3.2", 1e6);
  trial.touch("U3.1");
  trial.bench.untie("U3.1", "U3.2");
  trial.touch("U2.1");
  trial.bench.tie("U2.1", "U2.2", 1e6);
  trial.touch("U2.1");
  trial.bench.untie("U2.1", "U2.2");
  EXPECT_TRUE(trial.diagnosis().findings.empty());
  trial.touch_all();
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::pass);
}

// The first needle stays on DELTA, and a finger beside it lies on ALPHA: wherever the second one lands
// on DELTA, it hears that. Landed anew without the finger, all is well.
TEST_F(ByHand, AHandThatHoldsOneNeedleIsNoLeakHeardByTheOther) {
  HandTrial two(board(), false, true, {"U1.4"});
  two.touch_clips();
  two.bench.tie("U1.4", "U1.1", 1e6);
  two.touch_beside("VIA@12.000,6.000", "U1.4");
  EXPECT_EQ(two.touch_beside("VIA@22.000,6.000", "U1.4").isolation, Isolation::conducts);
  two.touch_clips();
  EXPECT_TRUE(two.diagnosis().findings.empty());
  EXPECT_NE(two.diagnosis().verdict, Verdict::pass);
  // Three landings of either, and no hand can be blamed.
  two.touch("U1.4");
  two.touch_beside("U4.1", "U1.4");
  two.touch("U1.4");
  two.touch_beside("VIA@12.000,6.000", "U1.4");
  two.touch_clips();
  EXPECT_EQ(two.diagnosis().findings.size(), 1u);
}

// DELTA and ECHO have no clip and nothing checks contact: the second needle stays on DELTA, proven by
// the first one on DELTA before and after the first was read against it on ECHO.
TEST_F(ByHand, ANeedleThatStandsIsProvenByTheOtherBeforeAndAfter) {
  const auto told = [&](bool before, bool after) {
    HandTrial two(board(), true, false, {"U1.4", "U1.5"});
    two.touch_clips();
    if (before) two.touch("U1.4");
    two.touch_beside("VIA@12.000,6.000", before ? "U1.4" : "U1.2");
    two.touch_while("U1.5", "VIA@12.000,6.000");
    if (after) two.touch_while("U1.4", "VIA@12.000,6.000");
    two.touch_clips();
    return told_apart(two, board(), "U1.4", "U1.5");
  };
  EXPECT_TRUE(told(true, true));
  EXPECT_FALSE(told(false, true));
  EXPECT_FALSE(told(true, false));
}

TEST_F(ByHand, ABridgeIsAFindingOnlyFromASecondPlace) {
  trial.touch_clips();
  trial.bench.tie("U3.1", "U3.2", 5);
  EXPECT_EQ(trial.touch("U3.1").isolation, Isolation::conducts);
  EXPECT_TRUE(trial.diagnosis().findings.empty());
  EXPECT_EQ(trial.wanted(false), std::vector<std::string>{"straddle U2.1"});
  trial.touch("U3.1");
  EXPECT_TRUE(trial.diagnosis().findings.empty()) << "the same place says no more";
  trial.touch("U2.1");
  const Diagnosis d = trial.diagnosis();
  ASSERT_EQ(d.findings.size(), 1u);
  EXPECT_EQ(d.findings[0].kind, FindingKind::bridge);
  EXPECT_EQ(d.findings[0].nets, (std::vector<std::string>{"ALPHA", "BETA"}));
  EXPECT_TRUE(trial.wanted(false).empty());
}

// BETA's clip was put where ALPHA's should be: from two places ALPHA conducts to it.
TEST_F(ByHand, AClipOnAnotherNetInventsNoBridge) {
  for (const bool check : {true, false}) {
    HandTrial t(board(), true, check);
    t.hooked[2] = "U1.1";
    t.fallen = {1};
    for (const char* id : {"U2.1", "U3.1", "U2.1"}) t.touch(id);
    EXPECT_TRUE(t.diagnosis().findings.empty()) << check;
    const auto asked = t.wanted(false);
    EXPECT_NE(std::ranges::find(asked, "prove-clip U2.2"), asked.end()) << check;
    EXPECT_EQ(std::ranges::find(asked, "straddle U2.1"), asked.end()) << check;
    t.hooked = {};
    t.fallen = {};
    t.touch_all();
    EXPECT_TRUE(t.diagnosis().findings.empty()) << check;
  }
}

TEST_F(ByHand, ABridgeHeardByAClipNeverMetIsFoundOnceItIs) {
  trial.bench.tie("U3.1", "U3.2", 5);
  for (const char* id : {"U2.1", "U3.1"}) trial.touch(id);
  EXPECT_TRUE(trial.diagnosis().findings.empty());
  for (const char* id : {"U2.2", "U3.2"}) trial.touch(id);
  EXPECT_EQ(trial.diagnosis().findings.size(), 1u);
}

// One landing stands on two pads; all others read well.
TEST_F(ByHand, AStraddlingNeedleInventsNoBridge) {
  trial.touch_clips();
  trial.bench.tie("U3.1", "U3.2", 0.1);
  trial.touch("U3.1");
  trial.bench.cut("U3.1", "U3.2");
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::incomplete);
  trial.touch_all();
  const Diagnosis d = trial.diagnosis();
  EXPECT_EQ(d.verdict, Verdict::pass);
  EXPECT_TRUE(d.findings.empty());
  EXPECT_TRUE(std::ranges::any_of(
      d.remarks, [](const std::string& r) { return r.find("look there") != std::string::npos; }));
}

// What was read well before it was heard to conduct clears nothing.
TEST_F(ByHand, ABridgeHeardLastIsNotClearedByWhatWasReadBefore) {
  trial.touch_all();
  trial.bench.tie("U3.1", "U3.2", 5);
  trial.touch("U3.1");
  EXPECT_NE(trial.diagnosis().verdict, Verdict::pass);
}

TEST_F(ByHand, ALeakThroughAHandIsDoubtUntilItIsReadWell) {
  trial.touch_clips();
  trial.bench.tie("U2.1", "U2.2", 8e5);
  trial.touch("U3.1");
  EXPECT_EQ(trial.wanted(false), std::vector<std::string>{"fingers-off U2.1"});
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::incomplete);
  trial.touch("U2.1");
  EXPECT_TRUE(trial.diagnosis().findings.empty()) << "a hand that lay there twice";
  trial.touch("U3.1");
  EXPECT_EQ(trial.diagnosis().findings.at(0).kind, FindingKind::leakage);
}

TEST_F(ByHand, AnOpenIsAFindingFromTwoLandingsOfATipKnownToStand) {
  trial.touch_clips();
  trial.bench.cut("U2.1", "U3.1");
  EXPECT_TRUE(trial.touch("U3.1").apart);
  EXPECT_TRUE(trial.diagnosis().findings.empty());
  const auto asked = trial.wanted(false);
  EXPECT_EQ(asked.front(), "prove-clip U2.1") << "was it the clip?";
  trial.touch("U2.1");
  EXPECT_TRUE(trial.diagnosis().findings.empty());
  EXPECT_EQ(trial.wanted(false), std::vector<std::string>{"second-landing U3.1"});
  trial.touch("U3.1");
  trial.touch("U2.1");
  const Diagnosis d = trial.diagnosis();
  ASSERT_EQ(d.findings.size(), 1u);
  EXPECT_EQ(d.findings[0].kind, FindingKind::open);
}

TEST_F(ByHand, ASingleTipThatConductsToNothingIsNoOpen) {
  HandTrial t(board(), false);
  t.touch_clips();
  t.bench.cut("U2.1", "U3.1");
  for (const char* id : {"U3.1", "U2.1", "U3.1", "U2.1"}) t.touch(id);
  EXPECT_TRUE(t.diagnosis().findings.empty());
  EXPECT_EQ(t.diagnosis().verdict, Verdict::incomplete);
}

TEST_F(ByHand, AStuckSwitchNeverPasses) {
  std::vector<plan::Channel> channels{1, 2, 3, 4, 5, HandTrial::kNeedle, HandTrial::kFork};
  for (const bool closed : {true, false}) {
    for (const int row : {1, 2}) {
      for (const plan::Channel c : channels) {
        HandTrial t(board());
        t.bench.tie("U2.1", "U2.2", 5);
        t.bench.tie("U2.5", "J1.2", 5);
        closed ? t.bench.stick_closed(row, c) : t.bench.stick_open(row, c);
        t.touch_all();
        EXPECT_NE(t.diagnosis().verdict, Verdict::pass) << closed << row << c;
      }
    }
  }
}

TEST_F(ByHand, AStuckMeterNeverPasses) {
  for (const bool high : {true, false}) {
    HandTrial t(board());
    t.bench.meddle = [=](const plan::Step&, plan::Outcome& o) {
      o = high ? plan::Outcome{plan::OverRange{}} : plan::Measured{0.5, 1e-3};
    };
    t.touch_all();
    EXPECT_EQ(t.diagnosis().verdict, Verdict::incomplete);
    EXPECT_TRUE(t.diagnosis().findings.empty());
  }
}

// Over-range for every pool, whatever the board has.
TEST_F(ByHand, AMeterThatGivesUpOnManySwitchesNeverPasses) {
  trial.bench.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.volts.value > 0 && s.source.size() + s.ret.size() > 4) o = plan::OverRange{};
  };
  trial.touch_all();
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::incomplete);
}

TEST_F(ByHand, HighResistanceTakesTwoLandingsAndOneGoodOneClearsIt) {
  for (const bool stays : {true, false}) {
    HandTrial t(board());
    t.bench.add_resistance("U2.1", "U3.1", 0.9);
    t.touch_all();
    if (!stays) t.bench.cut("U2.1", "U3.1"), t.bench.tie("U2.1", "U3.1", 0.02);
    t.touch("U3.1");
    t.touch_clips();
    const Diagnosis d = t.diagnosis();
    EXPECT_EQ(d.findings.size(), stays ? 1u : 0u);
  }
}

std::string by_eye(const Diagnosis& d) {
  for (const std::string& r : d.remarks) {
    if (r.starts_with("landed by eye")) return r;
  }
  return "";
}

// U1.4 and U1.5 lie 1 mm apart: DELTA and ECHO.
TEST_F(ByHand, TwoPadsSideBySideWithoutClipsAreSaidToBeToldByTheEyeAlone) {
  trial.touch_all();
  EXPECT_EQ(by_eye(trial.diagnosis()), "") << "a clip tells each";
  for (const std::set<std::string>& unclipped :
       {std::set<std::string>{"U1.4", "U1.5"}, std::set<std::string>{"U1.5"}}) {
    HandTrial t(board(), true, false, unclipped);
    for (const char* id : {"U2.1", "U2.2", "U4.1", "U1.4", "U1.5", "U2.1", "U2.2", "U4.1"})
      t.touch(id);
    const std::string said = by_eye(t.diagnosis());
    if (unclipped.size() == 1) {
      EXPECT_EQ(said.find("U1.5 (or"), std::string::npos) << said;
      continue;
    }
    EXPECT_NE(said.find("landed by eye: 2 pads"), std::string::npos) << said;
    EXPECT_NE(said.find("U1.4 (or U1.5), U1.5 (or U1.4)"), std::string::npos) << said;
  }
}

// Beside each other on one net: milliohms of copper, and contacts of more than that.
TEST_F(ByHand, TwoPadsSideBySideOnOneNetAreSaidToBeToldByTheEyeAlone) {
  test::SmallBoard other;
  auto& b = const_cast<expect::Board&>(other.board());
  const PointId near = *expect::find_point(b.expectation, "J1.2", std::nullopt),
                far = *expect::find_point(b.expectation, "J1.3", std::nullopt);
  b.expectation.points[index(near)].at = b.expectation.point(far).at;
  b.expectation.points[index(near)].at.x = b.expectation.point(far).at.x - 800'000;
  HandTrial t(b);
  t.touch_all();
  const std::string said = by_eye(t.diagnosis());
  EXPECT_NE(said.find("on one net"), std::string::npos) << said;
  EXPECT_NE(said.find("J1.3 (or J1.2)"), std::string::npos) << said;
}

// Clips that were fitted anew are proven anew.
TEST_F(ByHand, AProofOfAnotherRoundIsNone) {
  HandTrial short_one(board());
  for (const char* id : {"U2.2", "U3.1", "U2.2"}) short_one.touch(id), short_one.next_round();
  EXPECT_TRUE(short_one.knowledge().facts().two_pieces.empty());
  trial.touch_clips();
  trial.next_round();
  trial.touch("U3.1");
  trial.next_round();
  trial.touch_clips();
  EXPECT_NE(trial.diagnosis().verdict, Verdict::pass);
  trial.touch_all();
  EXPECT_EQ(trial.diagnosis().verdict, Verdict::pass);
}

}  // namespace
}  // namespace isthmus::diagnose
