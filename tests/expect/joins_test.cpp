// SPDX-License-Identifier: Apache-2.0
// Oracle: the stages and joins of a board of a few rectangles, worked out by hand.
#include "tests/expect/little_board.hpp"

namespace isthmus::test {
namespace {

using formats::JoinKind;
using formats::JoinsMode;
using Texts = std::vector<std::string>;

// R1 on top, R2 on the bottom, a via between them; and an unplated hole with copper on both sides.
LittleBoard two_sided() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0, 1)
      .surface("A", "R2", "1", 10, 0, 2)
      .through("A", "VIA", "", 5, 0);
  b.track(0, 0, 0, 5, 0, 0.3).track(1, 5, 0, 10, 0, 0.3);
  b.design.board.stage = Stage::joined;
  return b;
}

TEST(Joins, AllJoinsPlatedAndUndeclaredHoles) {
  EXPECT_EQ(groups_text(two_sided().must_run()), "A: R1.1 R2.1 VIA@5.000,0.000");
}

TEST(Joins, AllSparesHolesDeclaredUnplated) {
  LittleBoard b = two_sided();
  b.design.holes[0].plated = false;
  const auto e = b.must_run();
  EXPECT_EQ(e.groups.size(), 2u);
  EXPECT_FALSE(e.joins[0].conducts);
}

TEST(Joins, AllSparesToolingHolesOfTheNetlist) {
  LittleBoard b = two_sided();
  b.record("N/C", "", "", 5, 0, 0);
  b.design.netlist->records.back().kind = formats::FeatureKind::tooling;
  EXPECT_EQ(b.must_run().groups.size(), 2u);
}

TEST(Joins, PlatedTakesOnlyWhatTheFileCallsPlated) {
  LittleBoard b = two_sided();
  b.design.board.joins_mode = JoinsMode::plated;
  EXPECT_EQ(b.must_run().groups.size(), 1u);
  b.design.holes[0].plated.reset();
  EXPECT_EQ(b.must_run().groups.size(), 2u);
}

TEST(Joins, NoneJoinsNothingAndBlocks) {
  LittleBoard b = two_sided();
  b.design.board.joins_mode = JoinsMode::none;
  const auto e = b.must_run();
  EXPECT_EQ(groups_text(e), "A: R1.1 VIA@5.000,0.000@top | A: R2.1 VIA@5.000,0.000@bottom");
  EXPECT_EQ(disagreements_text(e), (Texts{"open A: R1.1 R2.1 both"}));
  EXPECT_EQ(e.disagreements[0].at, position_mm(5, 0));
  EXPECT_EQ(blockers_text(e), (Texts{"A: split at joined"}));
}

TEST(Joins, SplitOfAnEtchedBoardThatHolesWillMendIsNoDisagreement) {
  const auto e = two_sided().stage(Stage::etched).must_run();
  EXPECT_EQ(e.groups.size(), 2u);
  EXPECT_TRUE(e.disagreements.empty());
  EXPECT_TRUE(e.blockers.empty());
}

TEST(Joins, ListedJoinIsFoundWithinATenthAndAHalf) {
  LittleBoard b = two_sided();
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(5.14, 0), JoinKind::rivet, false}};
  const auto e = b.must_run();
  EXPECT_EQ(e.groups.size(), 1u);
  EXPECT_EQ(e.joins[0].kind, JoinKind::rivet);
  b.design.board.joins[0].at = position_mm(5.16, 0);
  EXPECT_EQ(b.run().problem().code, "EXP-003");
  EXPECT_EQ(b.run().problem().hint,
            "the nearest hole lies at [5.000, 0.000], 0.16 mm away; give the hole's place within "
            "0.15 mm, in millimetres of the artwork");
}

TEST(Joins, NothingIsSaidOfAListedPlaceWithoutHoleWhileJoinsAreIgnored) {
  LittleBoard b = two_sided();
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(6, 0), JoinKind::wire, false}};
  b.stage(Stage::etched).must_run();
  EXPECT_EQ(b.note_codes(), Texts{});
}

TEST(Joins, HoleListedTwiceIsSaidSo) {
  LittleBoard b = two_sided();
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(5, 0), JoinKind::wire, true},
                          {position_mm(5, 0), JoinKind::wire, false}};
  EXPECT_EQ(b.must_run().groups.size(), 1u);
  EXPECT_EQ(b.note_codes(), (Texts{"EXP-004"}));
}

// A listed hole with a pad on top alone: its point is that side's, nothing is joined, and it is
// said.
TEST(Joins, AListedHoleWithCopperOnOneSideJoinsNothingAndIsSaidSo) {
  LittleBoard b = two_sided();
  b.surface("B", "R3", "1", 20, 0, 1);
  b.pad(0, 22, 0, 1.2, 1.2).hole(22, 0, 0.8).record("B", "J1", "1", 22, 0, 0);
  b.track(0, 20, 0, 22, 0, 0.3);
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(5, 0), JoinKind::wire, false},
                          {position_mm(22, 0), JoinKind::wire, false}};
  LittleBoard etched = b;
  const auto e = b.must_run();
  EXPECT_EQ(b.note_codes(), (Texts{"EXP-024"}));
  EXPECT_EQ(groups_text(e), "B: J1.1 R3.1 | A: R1.1 R2.1 VIA@5.000,0.000");
  EXPECT_FALSE(e.joins.back().conducts);
  EXPECT_TRUE(e.blockers.empty());
  etched.stage(Stage::etched).must_run();  // joins are ignored
  EXPECT_EQ(etched.note_codes(), Texts{});
}

TEST(Joins, DeferredJoinNeitherConductsNorBlocks) {
  LittleBoard b = two_sided();
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(5, 0), JoinKind::wire, true}};
  const auto e = b.must_run();
  EXPECT_EQ(e.groups.size(), 2u);
  EXPECT_TRUE(e.joins[0].deferred);
  EXPECT_TRUE(e.disagreements.empty());
  EXPECT_TRUE(e.blockers.empty());
  EXPECT_EQ(e.pairs.size() + e.pairs_beyond_window, 0u);  // one net: neither expected nor forbidden
  EXPECT_EQ(deferred_joins(e), std::vector<std::size_t>{0});
  EXPECT_EQ(
      deferred_in_words(e),
      "1 join is deferred ((5.00, 0.00) mm A): nothing is expected to conduct through it yet");
}

TEST(Joins, WhatIsNotYetDueIsNotDeferred) {
  LittleBoard b = two_sided().stage(Stage::etched);
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(5, 0), JoinKind::wire, true}};
  EXPECT_EQ(deferred_in_words(b.must_run()), "");
}

TEST(Joins, ListedUnplatedHoleJoins) {
  LittleBoard b = two_sided();
  b.design.holes[0].plated = false;
  b.design.board.joins_mode = JoinsMode::listed;
  b.design.board.joins = {{position_mm(5, 0), JoinKind::wire, false}};
  EXPECT_EQ(b.must_run().groups.size(), 1u);
}

TEST(Joins, SlotReachesCopperAlongItsLength) {
  LittleBoard b;
  b.pad(0, 0, 0, 1, 2).pad(1, 4, 0, 1, 2).record("A", "J1", "1", 2, 0, 0);
  formats::Hole slot;
  slot.from = position_mm(0, 0);
  slot.to = position_mm(4, 0);
  slot.diameter = from_mm(0.6);
  b.design.holes = {slot};
  const auto e = b.stage(Stage::joined).must_run();
  ASSERT_EQ(e.joins.size(), 1u);
  EXPECT_EQ(e.joins[0].islands.size(), 2u);
  EXPECT_EQ(groups_text(e), "A: J1.1 @0.000,0.000 @4.000,0.000");  // both ends are places
}

TEST(Joins, LegsOfOneSlotAreOneHole) {
  LittleBoard b = two_sided();
  formats::Hole leg;
  leg.diameter = from_mm(0.6);
  leg.slot = 0;
  leg.from = position_mm(20, 0);
  leg.to = position_mm(22, 0);
  b.design.holes.push_back(leg);
  leg.from = leg.to;
  leg.to = position_mm(22, 2);
  b.design.holes.push_back(leg);
  EXPECT_EQ(b.must_run().joins.size(), 2u);
}

TEST(Joins, RepeatedHitIsOneHole) {
  LittleBoard b = two_sided();
  b.hole(5, 0, 0.8);
  EXPECT_EQ(b.must_run().joins.size(), 1u);
}

TEST(Joins, BlindHoleReachesOnlyItsSpan) {
  LittleBoard b(4);
  b.through("A", "VIA", "", 0, 0);
  b.design.holes[0].span = {1, 2};
  const auto e = b.stage(Stage::joined).must_run();
  EXPECT_EQ(e.joins[0].islands.size(), 2u);
  EXPECT_EQ(e.points[0].side, Side::top);
  EXPECT_FALSE(e.points[0].islands[3]);
}

TEST(Joins, LinkConductsOnceJoined) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 0);
  b.design.board.links = {{position_mm(0.3, 0), position_mm(10, 0.1), Side::top}};
  EXPECT_EQ(b.stage(Stage::joined).must_run().groups.size(), 1u);
  EXPECT_EQ(b.must_run().links.size(), 1u);
  EXPECT_EQ(b.stage(Stage::etched).must_run().groups.size(), 2u);
}

TEST(Joins, LinkToBareBoardIsRefused) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0);
  b.design.board.links = {{position_mm(0, 0), position_mm(5, 0), Side::top}};
  EXPECT_EQ(b.stage(Stage::joined).run().problem().code, "EXP-005");
}

}  // namespace
}  // namespace isthmus::test
