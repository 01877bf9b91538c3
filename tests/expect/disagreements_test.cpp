// SPDX-License-Identifier: Apache-2.0
// Oracle: contradictions drawn by hand, their places known from the drawing.
#include "tests/expect/little_board.hpp"

namespace isthmus::test {
namespace {

using Texts = std::vector<std::string>;

TEST(Disagreements, AgreeingBoardHasNone) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 5, 0).track(0, 0, 0, 5, 0, 0.3);
  const auto e = b.must_run();
  EXPECT_TRUE(e.disagreements.empty());
  EXPECT_TRUE(e.blockers.empty());
}

TEST(Disagreements, UnroutedNetIsAnOpenAtItsClosestApproach) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 20, 0).surface("A", "R3", "1", 40, 0);
  b.track(0, 0, 0, 14, 0, 0.4);  // ends at 14.2, the pad of R2 begins at 19.5
  const auto e = b.must_run();
  EXPECT_EQ(disagreements_text(e), (Texts{"open A: R1.1 R2.1 R3.1 top"}));
  EXPECT_EQ(e.disagreements[0].at.x, from_mm((14.2 + 19.5) / 2).value);
  EXPECT_EQ(blockers_text(e), (Texts{"A: disagreement: open in the artwork"}));
}

TEST(Disagreements, OpenWithinTheWindowLiesInTheGap) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 2, 0);
  EXPECT_EQ(b.must_run().disagreements.at(0).at, position_mm(1, 0));
}

TEST(Disagreements, OpenBetweenSidesWithoutHoleIsSaidOfBoth) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0, 1).surface("A", "R2", "1", 4, 0, 2);
  EXPECT_EQ(disagreements_text(b.must_run()), (Texts{"open A: R1.1 R2.1 both"}));
}

TEST(Disagreements, BridgeLiesAtTheNarrowestCopperBetweenTheNearestPoints) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R3", "1", -10, 0).surface("B", "R2", "1", 10, 0);
  b.track(0, -10, 0, 0, 0, 0.6)
      .track(0, 0, 0, 6, 0, 0.6)
      .track(0, 6, 0, 8, 0, 0.2)
      .track(0, 8, 0, 10, 0, 0.6);
  const auto e = b.must_run();
  EXPECT_EQ(disagreements_text(e), (Texts{"bridge A B: R1.1 R2.1 top"}));
  EXPECT_NEAR(to_mm(e.disagreements[0].at.x), 7.0, 0.8);  // the thin stretch runs from 6.3 to 7.7
  EXPECT_NEAR(to_mm(e.disagreements[0].at.y), 0.0, 0.05);
  EXPECT_EQ(blockers_text(e), (Texts{"A: disagreement: shares copper with B"}));
}

TEST(Disagreements, BridgeThroughAJoinIsFoundOnceJoined) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0, 1).surface("B", "R2", "1", 4, 0, 2).hole(2, 0, 0.5);
  b.track(0, 0, 0, 2.5, 0, 0.8).track(1, 1.5, 0, 4, 0, 0.8);
  EXPECT_TRUE(b.stage(Stage::etched).must_run().disagreements.empty());
  const auto found = disagreements_text(b.stage(Stage::joined).must_run());
  ASSERT_EQ(found.size(), 1u);
  EXPECT_TRUE(holds(found[0], "bridge A B: R1.1 R2.1"));
}

TEST(Disagreements, NetTieIsNoBridge) {
  LittleBoard b;
  b.surface("GND", "R1", "1", 0, 0).surface("AGND", "R2", "1", 2, 0).track(0, 0, 0, 2, 0, 0.3);
  b.design.board.net_ties = {{"GND", "AGND"}};
  const auto e = b.must_run();
  EXPECT_EQ(groups_text(e), "GND: R1.1 | AGND: R2.1");
  EXPECT_TRUE(e.disagreements.empty());
}

TEST(Disagreements, TieOfAnUnknownNetIsSaidSo) {
  LittleBoard b;
  b.surface("GND", "R1", "1", 0, 0);
  b.design.board.net_ties = {{"GND", "AGND"}};
  b.must_run();
  EXPECT_EQ(b.note_codes(), (Texts{"EXP-023"}));
}

TEST(Disagreements, PadWithoutCopperStaysAPointAndBlocks) {
  LittleBoard b;
  for (int i = 0; i < 10; ++i)
    b.surface("A" + std::to_string(i), "J1", std::to_string(i), 5 * i, 0);
  b.record("A9", "R1", "1", 45, 30, 1);
  const auto e = b.must_run();
  EXPECT_EQ(disagreements_text(e), (Texts{"no-copper A9: R1.1 top"}));
  EXPECT_FALSE(e.points.back().group);
  EXPECT_TRUE(e.points.back().required);
  EXPECT_EQ(blockers_text(e), (Texts{"A9: disagreement: no copper in the artwork"}));
}

TEST(Disagreements, HoleOverTheEdgeOfItsPadBreaksOut) {
  LittleBoard b;
  b.pad(0, 0, 0, 1.6, 1.6).hole(0.45, 0, 0.8).record("A", "J1", "1", 0.45, 0, 0);
  EXPECT_EQ(disagreements_text(b.must_run()), (Texts{"breakout A: J1.1@top top"}));
  b.design.holes[0].from = b.design.holes[0].to = position_mm(0.39, 0);
  EXPECT_TRUE(b.must_run().disagreements.empty());
  EXPECT_TRUE(b.must_run().blockers.empty());
}

TEST(Disagreements, PadSmallerThanItsHoleBreaksOut) {
  LittleBoard b;
  b.pad(0, 0, 0, 0.5, 0.5).hole(0, 0, 0.8).record("A", "J1", "1", 0, 0, 0);
  EXPECT_EQ(disagreements_text(b.must_run()), (Texts{"breakout A: J1.1@top top"}));
}

TEST(Disagreements, CopperThatHoldsByAHairIsMarginal) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("B", "R2", "1", 1.0005, 0);  // 0.5 um apart
  const auto e = b.must_run();
  EXPECT_EQ(disagreements_text(e), (Texts{"marginal A B: R1.1 R2.1 top"}));
}

TEST(Disagreements, PadsThatTheNetlistDoesNotKnowAreSaidSo) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0);
  b.pad(0, 5, 0, 1, 1, {std::nullopt, "R7", "1", "", "SMDPad"});  // says what it is
  b.pad(1, 9, 0, 1, 1).hole(9, 0, 0.5);                           // its hole says so
  b.pad(0, 20, 0, 1, 1);                                          // a mark, a logo: no pad
  b.pad(1, 15, 0, 6, 6).hole(15, 0, 3.2, false);                  // a mounting hole
  const auto e = b.must_run();
  EXPECT_EQ(disagreements_text(e),
            (Texts{"no-net #1: R7.1 top", "no-net #3: @9.000,0.000 bottom"}));
  const std::string why = ": disagreement: the netlist knows no pad on this copper";
  EXPECT_EQ(blockers_text(e), (Texts{"#1" + why, "#3" + why}));
}

// The netlist lost a whole net, J6 and all: nobody would measure its copper.
TEST(Disagreements, CopperOfANetThatTheNetlistLostBlocksUntilItsPadsAreWaived) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).track(0, 5, 0, 9, 0, 0.3);
  b.pad(0, 5, 0, 1, 1, {std::nullopt, "J6", "6", "", "SMDPad"});
  b.pad(0, 9, 0, 1, 1, {std::nullopt, "U2", "3", "", "SMDPad"});
  EXPECT_EQ(disagreements_text(b.must_run()), (Texts{"no-net #1: J6.6 U2.3 top"}));
  b.waive("J6.6", "a jig's pad");
  auto e = b.must_run();
  ASSERT_EQ(e.blockers.size(), 1u);
  EXPECT_EQ(e.blockers[0].points, Texts{"U2.3"});
  b.waive("U2.3", "the same");
  e = b.must_run();
  EXPECT_TRUE(e.blockers.empty());
  ASSERT_EQ(e.waivers.size(), 2u);
  EXPECT_EQ(e.waivers[0].point + " " + e.waivers[0].why, "J6.6 a jig's pad");
  EXPECT_EQ(ids(e), (Texts{"R1.1", "@5.000,0.000", "@9.000,0.000"}));
  for (const expect::Point& p : e.points) EXPECT_EQ(p.required, p.id == "R1.1");
}

TEST(Disagreements, ArtworkAloneIsSaidWithTheVerdictAndBlocksNothing) {
  LittleBoard b;
  b.design.board.netlist_source = formats::NetlistSource::artwork;
  b.pad(0, 0, 0, 1, 1);
  EXPECT_EQ(blockers_text(b.must_run()), Texts{});  // said with the verdict, no bar to it
}

TEST(Disagreements, RenamedNetIsAnOpenAndABridge) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 5, 0).track(0, 0, 0, 5, 0, 0.3);
  b.surface("B", "R3", "1", 0, 9).surface("B", "R4", "1", 5, 9).track(0, 0, 9, 5, 9, 0.3);
  ASSERT_TRUE(b.must_run().disagreements.empty());
  b.design.netlist->records[1].net = "B";
  EXPECT_EQ(disagreements_text(b.must_run()),
            (Texts{"open B: R2.1 R3.1 top", "bridge A B: R1.1 R2.1 top"}));
}

}  // namespace
}  // namespace isthmus::test
