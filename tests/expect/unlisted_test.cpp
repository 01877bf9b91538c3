// SPDX-License-Identifier: Apache-2.0
// Places of copper that no record names. Oracle: docs/expectation.md, applied by hand to boards of a
// few rectangles.
#include "tests/expect/piece_board.hpp"

namespace isthmus::test {
namespace {

using Texts = std::vector<std::string>;

// "id net" of every point that no record names; one that is required would be a mistake.
Texts unlisted(const expect::Expectation& e) {
  Texts out;
  for (const expect::Point& p : e.points) {
    if (p.unlisted) out.push_back(p.id + " " + p.net + (p.required ? " required" : ""));
  }
  return out;
}

// A of two pads with a track between, along y = 0 from 0 to 10 mm.
LittleBoard track_of_a() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 0).track(0, 0, 0, 10, 0, 0.3);
  return b;
}

formats::Object opening(double x, double y, double w, double h) {
  LittleBoard b;
  b.pad(0, x, y, w, h);
  return b.design.copper[0].objects.back();
}

TEST(Unlisted, NothingWhereRecordsNameEveryPad) {
  LittleBoard b = track_of_a();
  b.through("A", "J1", "1", 5, 0);
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
  EXPECT_EQ(unlisted(b.stage(Stage::joined).must_run()), Texts{});
}

TEST(Unlisted, AFlashedPadIsAPlaceOfItsCoppersNet) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 0, 1, 1);
  const auto e = b.must_run();
  EXPECT_EQ(unlisted(e), (Texts{"@5.000,0.000 A"}));
  EXPECT_EQ(e.points.back().side, Side::top);
  EXPECT_EQ(groups_text(e), "A: R1.1 R2.1 @5.000,0.000");
}

TEST(Unlisted, AFlashThatOnlyEndsAStrokeIsNone) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 0, 0.24, 0.24);
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

TEST(Unlisted, AHoleIsOnePlaceASideUntilItIsJoined) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 0, 1.6, 1.6).pad(1, 5, 0, 1.6, 1.6).hole(5, 0, 0.8);
  // Below, the ring hangs on A once it is joined.
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,0.000@top A", "@5.000,0.000@bottom A"}));
  const auto joined = b.stage(Stage::joined).must_run();
  EXPECT_EQ(unlisted(joined), (Texts{"@5.000,0.000 A"}));
  EXPECT_TRUE(joined.points.back().join.has_value());
}

TEST(Unlisted, AHoleInATrackWithoutAPadIsOneStill) {
  LittleBoard b = track_of_a();
  b.hole(5, 0, 0.2);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,0.000@top A"}));
}

TEST(Unlisted, WhatTheNetlistCallsToolingIsNone) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 0, 1.6, 1.6).hole(5, 0, 0.8, false).record("A", "", "", 5, 0, 0);
  b.design.netlist->records.back().kind = formats::FeatureKind::tooling;
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

TEST(Unlisted, AMaskOpeningOnBareTrackIsAPlace) {
  LittleBoard b = track_of_a();
  b.design.mask_top.emplace().objects = {opening(0, 0, 1.2, 1.2), opening(5, 0, 1, 1),
                                         opening(5, 5, 1, 1)};
  EXPECT_EQ(unlisted(b.must_run()),
            (Texts{"@5.000,0.000 A"}));  // not the pad's, not without copper
}

TEST(Unlisted, AMaskOpeningIsOfItsOwnSide) {
  LittleBoard b = track_of_a();
  b.design.mask_bottom.emplace().objects = {opening(5, 0, 1, 1)};
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

// A drawn pad: an area on copper of strokes that has no pad.
TEST(Unlisted, AnAreaOnStrokesWithoutAPadIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 0, 5, 10, 5, 0.3).pad(0, 10, 5, 1, 1);
  b.design.copper[0].objects.back().kind = formats::ObjectKind::region;
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@10.000,5.000 #1"}));
}

TEST(Unlisted, TextAndPicturesAreNone) {
  LittleBoard b = track_of_a();
  b.track(0, 0, 5, 10, 5, 0.3);  // strokes alone
  b.pad(0, 10, 9, 1, 1);         // an area alone
  b.design.copper[0].objects.back().kind = formats::ObjectKind::region;
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

TEST(Unlisted, OnlyTheEtchedSideCounts) {
  LittleBoard b = track_of_a();
  b.pad(1, 5, 5, 1, 1);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,5.000 #1"}));
  EXPECT_EQ(unlisted(b.stage(Stage::etched_top).must_run()), Texts{});
}

TEST(Unlisted, TwoThatShareAPlaceAreTwoOnTheSidesOfTheBoardAndOneOnOne) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 1, 1).pad(0, 5, 5, 0.6, 0.6).pad(1, 5, 5, 1, 1);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,5.000 #1", "@5.000,5.000#2 #2"}));
}

// Also before it is joined: that its two sides conduct early is no bridge.
TEST(Unlisted, EveryPlaceOnePieceHasIsOfOneNet) {
  LittleBoard b = track_of_a();
  b.pad(0, 3, 5, 4, 1).pad(1, 5, 5, 4, 1).hole(4, 5, 0.5);
  const auto joined = b.stage(Stage::joined).must_run(), etched = b.stage(Stage::etched).must_run();
  EXPECT_EQ(unlisted(joined), (Texts{"@3.000,5.000 #1", "@5.000,5.000 #1", "@4.000,5.000 #1"}));
  EXPECT_EQ(unlisted(etched), (Texts{"@3.000,5.000 #1", "@5.000,5.000 #1", "@4.000,5.000@top #1",
                                     "@4.000,5.000@bottom #1"}));
  for (const auto& e : {joined, etched}) EXPECT_EQ(pairs_text(e), "");
}

// Where nets are tied the copper has several: the nearest.
TEST(Unlisted, OnTiedCopperThePlaceIsOfTheNearestNet) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("G", "R2", "1", 10, 0).track(0, 0, 0, 10, 0, 0.3);
  b.pad(0, 2, 0, 0.6, 0.6).pad(0, 8, 0, 0.6, 0.6);
  b.design.board.net_ties = {{"A", "G"}};
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@2.000,0.000 A", "@8.000,0.000 G"}));
}

// A pour of 8 by 8 mm on the end of A's track: its widest place is its middle.
TEST(Unlisted, APourIsAPlaceWhereItIsWidest) {
  LittleBoard b = track_of_a();
  b.pad(0, 14, 0, 8, 8);
  b.design.copper[0].objects.back().kind = formats::ObjectKind::region;
  const auto board = whole(std::move(b));
  const auto& e = board->expectation;
  ASSERT_EQ(unlisted(e).size(), 1u);
  EXPECT_EQ(e.points.back().net, "A");
  EXPECT_LT(distance_nm(e.points.back().at, position_mm(14, 0)), 1e6);
}

TEST(Unlisted, APourWithAPadOnItIsNone) {
  LittleBoard b = track_of_a();
  b.surface("A", "R3", "1", 14, 0).pad(0, 14, 0, 8, 8);
  b.design.copper[0].objects.back().kind = formats::ObjectKind::region;
  EXPECT_EQ(unlisted(whole(std::move(b))->expectation), Texts{});
}

LittleBoard& as_area(LittleBoard& b, std::size_t layer = 0) {
  b.design.copper[layer].objects.back().kind = formats::ObjectKind::region;
  return b;
}

// A pad of 1 mm drawn as an area at the end of A's branch, without a record.
TEST(Unlisted, AnAreaThatATrackOfAKnownNetEndsInIsAPlace) {
  LittleBoard b = track_of_a();
  as_area(b.track(0, 5, 0, 5, 5, 0.3).pad(0, 5, 5.3, 1, 1));
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,5.300 A"}));
}

TEST(Unlisted, AnAreaUnderAListedPadIsThatPad) {
  LittleBoard b = track_of_a();
  as_area(b.pad(0, 0.3, 0, 1, 1));
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

// More than two thirds as wide: the area may be a stretch of the track, as where the net leads on.
TEST(Unlisted, AnAreaOnATrackOfItsOwnWidthIsNone) {
  LittleBoard b = track_of_a();
  as_area(b.track(0, 5, 0, 5, 8, 0.8).pad(0, 5, 4, 1, 1));
  b.surface("A", "R3", "1", 5, 8);
  EXPECT_EQ(unlisted(whole(std::move(b))->expectation), Texts{});
}

// On a ring, where no end would tell.
TEST(Unlisted, AnAreaThatASlimmerTrackRunsThroughIsAPlace) {
  LittleBoard b = track_of_a();
  as_area(b.track(0, 5, 0, 5, 8, 0.3).pad(0, 5, 4, 1, 1));
  b.surface("A", "R3", "1", 5, 8);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,4.000 A"}));
}

TEST(Unlisted, AShortBroadStrokeThatATrackEndsInIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.3).track(0, 5, 5, 5.4, 5, 1.2);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.200,5.000 A"}));
}

TEST(Unlisted, ABroadTrackIsNone) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.3).track(0, 5, 5, 9, 5, 1.2);
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

TEST(Unlisted, ARingRoundThePadOfAnotherNetIsAPlaceOfItsOwn) {
  LittleBoard b = track_of_a();
  b.surface("S", "R3", "1", 14, 0).track(0, 10, 0, 12, 0, 0.3).pad(0, 14, 0, 6, 6);
  Polygon& ring = b.design.copper[0].objects.back().shape.front();
  ring.holes = {{position_mm(12, -2), position_mm(12, 2), position_mm(16, 2), position_mm(16, -2)}};
  const auto e = b.must_run();
  ASSERT_EQ(unlisted(e), (Texts{"@11.500,-2.500 A"}));  // halfway between the corners of its rims
  EXPECT_TRUE(e.points.back().islands[0]);
}

// Fingers drawn as strokes, under one opening of the mask.
TEST(Unlisted, TheEndOfATrackInAnOpeningIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 10, 0, 10, 8, 0.5).design.mask_top.emplace();
  b.design.mask_top->objects.push_back(opening(12, 7, 6, 4));
  EXPECT_EQ(unlisted(whole(std::move(b))->expectation), (Texts{"@10.000,8.000 A"}));
}

// Two bodies of 8 by 8 mm, the pad on one, and a neck of `neck` mm between.
Texts lobe(double size, double neck) {
  LittleBoard b = track_of_a();
  as_area(b.pad(0, 14, 0, 8, 8));
  b.track(0, 16, 0, 24, 0, neck);
  as_area(b.pad(0, 22 + size / 2, 0, size, size));
  b.surface("A", "R3", "1", 14, 0);
  return unlisted(whole(std::move(b))->expectation);
}

TEST(Unlisted, AFurtherLobeOfAPourIsAPlace) {
  EXPECT_EQ(lobe(6, 1).size(), 1u);
  EXPECT_EQ(lobe(6, 2).size(), 1u);
  EXPECT_EQ(lobe(6, 2.5).size(), 1u);  // its area is drawn
}

// Two wires between two tracks: which of them conducts is not told by reading across.
LittleBoard two_wires() {
  LittleBoard b = track_of_a();
  for (const double x : {3.0, 7.0}) b.through("A", "", "", x, 0);
  b.track(1, 3, 0, 7, 0, 0.3).stage(Stage::joined);
  return b;
}

TEST(Unlisted, ASecondWayBetweenJoinsIsAPlace) {
  const auto board = whole(two_wires());
  const auto& e = board->expectation;
  ASSERT_EQ(unlisted(e).size(), 1u);
  EXPECT_EQ(e.points.back().side, Side::bottom);
  EXPECT_LT(distance_nm(e.points.back().at, position_mm(5, 0)), 1e6);
}

TEST(Unlisted, TheOnlyWayBetweenJoinsIsNone) {
  LittleBoard b = two_wires();
  ASSERT_EQ(b.design.copper[0].objects[2].kind, formats::ObjectKind::stroke);
  b.design.copper[0].objects.erase(b.design.copper[0].objects.begin() + 2);
  b.track(0, 0, 0, 3, 0, 0.3).track(0, 7, 0, 10, 0, 0.3);
  EXPECT_EQ(unlisted(whole(std::move(b))->expectation), Texts{});
}

TEST(Unlisted, ASecondWayThatAPadLiesOnIsNone) {
  LittleBoard b = two_wires();
  b.surface("A", "R9", "1", 5, 0, 2);
  EXPECT_EQ(unlisted(whole(std::move(b))->expectation), Texts{});
}

// A via in a pad that a record names leads to the other side all the same.
TEST(Unlisted, AViaInAListedPadHasItsEnds) {
  LittleBoard b = track_of_a();
  b.pad(0, 0, 5, 3, 3).record("A", "U1", "9", 0, 5, 1);
  b.track(0, 0, 0, 0, 5, 0.3).pad(0, 0.8, 5, 0.9, 0.9).pad(1, 0.8, 5, 0.9, 0.9).hole(0.8, 5, 0.4);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@0.800,5.000@top A", "@0.800,5.000@bottom A"}));
}

// Rings with records of their own, one a side, are that hole.
TEST(Unlisted, AHoleWhoseRingsAreListedIsNone) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 0, 1.6, 1.6).pad(1, 5, 0, 1.6, 1.6).hole(5, 0, 0.8);
  b.record("A", "J1", "1", 5, 0, 1).record("A", "J1", "1", 5, 0, 2);
  EXPECT_EQ(unlisted(b.must_run()), Texts{});
}

// Listed as reached from the top alone, as where the mask covers its other end.
TEST(Unlisted, AHoleListedFromOneSideHasItsOtherEnd) {
  LittleBoard b = track_of_a();
  b.through("A", "", "", 5, 0);
  b.design.netlist->records.back().access = 1;
  const auto e = b.must_run();
  EXPECT_EQ(unlisted(e), Texts{});
  EXPECT_EQ(groups_text(e), "A: R1.1 R2.1 @5.000,0.000@top | A: @5.000,0.000@bottom");
}

// At home every hole is unplated.
TEST(Unlisted, AHoleOfAFileThatIsCalledUnplatedIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 1.4).hole(5, 5, 0.8, false);
  EXPECT_EQ(unlisted(b.must_run()), (Texts{"@5.000,5.000@top A"}));
}

TEST(Unlisted, CopperOfTwoSuchHolesIsANetThatTheNetlistDoesNotKnow) {
  LittleBoard b = track_of_a();
  b.track(0, 0, 5, 10, 5, 1.4).hole(0, 5, 0.8, false).hole(10, 5, 0.8, false);
  const auto e = b.must_run();
  EXPECT_EQ(disagreements_text(e).size(), 1u);
}

// A joined via in a drawn pad serves its copper; the pad is a place still.
TEST(Unlisted, AJoinedViaStandsForNoPad) {
  LittleBoard b = track_of_a();
  as_area(b.track(0, 5, 0, 5, 5, 0.3).pad(0, 5, 5.6, 1.6, 1.6));
  b.through("A", "VIA", "", 5.4, 5.6);
  EXPECT_EQ(unlisted(b.stage(Stage::joined).must_run()), (Texts{"@5.000,5.600 A"}));
}

// One opening over the ends of two nets' tracks, its middle between them.
TEST(Unlisted, EachCopperThatAnOpeningLaysBareIsAPlace) {
  LittleBoard b = track_of_a();
  b.surface("B", "R3", "1", 0, 2).surface("B", "R4", "1", 10, 2).track(0, 0, 2, 10, 2, 0.3);
  b.design.mask_top.emplace();
  b.design.mask_top->objects.push_back(opening(5, 1, 1, 4));
  const Texts found = unlisted(whole(std::move(b))->expectation);
  ASSERT_EQ(found.size(), 2u);
  EXPECT_TRUE(found[0].ends_with(" A") && found[1].ends_with(" B"));
}

// From A over a wire to bare copper, and over the next to more, whichever is listed first.
TEST(Unlisted, CopperBehindTwoWiresIsAPlace) {
  for (const bool later : {false, true}) {
    LittleBoard b = track_of_a();
    b.track(0, 14, 0, 18, 0, 1).track(0, 22, 0, 30, 0, 1).stage(Stage::joined);
    const formats::LinkEntry first{position_mm(10, 0), position_mm(14, 0), Side::top},
        second{position_mm(18, 0), position_mm(22, 0), Side::top};
    b.design.board.links = {later ? second : first, later ? first : second};
    EXPECT_EQ(unlisted(b.must_run()).size(), 2u) << later;
  }
}

// From 0 to 4 mm, with a pad round each end on both sides, or round all of it.
LittleBoard slot(bool one_pad = false) {
  LittleBoard b;
  for (const std::size_t layer : {0u, 1u}) {
    if (one_pad) b.pad(layer, 2, 0, 6, 2);
    if (!one_pad) b.pad(layer, 0, 0, 2, 2).pad(layer, 4, 0, 2, 2).track(layer, 0, 0, 4, 0, 1.6);
  }
  formats::Hole hole;
  hole.from = position_mm(0, 0);
  hole.to = position_mm(4, 0);
  hole.diameter = from_mm(0.8);
  hole.plated = true;
  b.design.holes = {hole};
  b.stage(Stage::joined);
  return b;
}

TEST(Slots, RecordsAtBothEndsAreTwoPoints) {
  const auto e = slot().record("A", "J1", "1", 0, 0, 0).record("A", "J1", "1", 4, 0, 0).must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1", "J1.1#2"}));
  EXPECT_EQ(e.points[0].join, e.points[1].join);
  EXPECT_EQ(e.points[0].at, position_mm(0, 0));
  EXPECT_EQ(e.points[1].at, position_mm(4, 0));
}

TEST(Slots, RecordsWithinADiameterAreOnePointAndTheOtherEndIsAPlaceStill) {
  const auto e =
      slot().record("A", "J1", "1", 0, 0, 0).record("A", "J2", "1", 0.3, 0, 0).must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1", "@4.000,0.000"}));
  EXPECT_EQ(e.points[0].aliases, (Texts{"J2.1"}));
}

// Its middle is air.
TEST(Slots, APadRoundAllOfItIsNoPlaceOfItsOwn) {
  auto b = slot(true).record("A", "J1", "1", 0, 0, 0).record("A", "J1", "1", 4, 0, 0);
  EXPECT_EQ(ids(b.must_run()), (Texts{"J1.1", "J1.1#2"}));
}

}  // namespace
}  // namespace isthmus::test
