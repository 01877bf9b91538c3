// SPDX-License-Identifier: Apache-2.0
// Copper of a known net that leads away from every pad. Oracle: docs/expectation.md, applied by hand
// to boards of a few rectangles; each is a way in which a cut once passed.
#include "tests/expect/piece_board.hpp"

namespace isthmus::test {
namespace {

using Texts = std::vector<std::string>;
using formats::ObjectKind;

// A of two pads with a track between, along y = 0 from 0 to 10 mm.
LittleBoard track_of_a() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 0).track(0, 0, 0, 10, 0, 0.3);
  return b;
}

LittleBoard& area(LittleBoard& b, std::vector<Position> corners) {
  b.pad(0, 0, 0, 1, 1);
  formats::Object& o = b.design.copper[0].objects.back();
  o.kind = ObjectKind::region;
  o.width = {};
  o.spine.clear();
  o.shape = {Polygon{std::move(corners), {}}};
  return b;
}
LittleBoard& area(LittleBoard& b, double x, double y, double w, double h) {
  return area(b, {position_mm(x - w / 2, y - h / 2), position_mm(x + w / 2, y - h / 2),
                  position_mm(x + w / 2, y + h / 2), position_mm(x - w / 2, y + h / 2)});
}

// Turned by 45 degrees.
LittleBoard& leaning(LittleBoard& b, double x, double y, double w, double h) {
  const double c = std::sqrt(0.5);
  std::vector<Position> corners;
  for (const auto& [u, v] :
       {std::pair(-w, -h), std::pair(w, -h), std::pair(w, h), std::pair(-w, h)})
    corners.push_back(position_mm(x + c * (u - v) / 2, y + c * (u + v) / 2));
  return area(b, std::move(corners));
}

std::vector<Position> unlisted(LittleBoard b) {
  std::vector<Position> out;
  const auto board = whole(std::move(b));
  for (const expect::Point& p : board->expectation.points) {
    EXPECT_FALSE(p.unlisted && p.required);
    if (p.unlisted) out.push_back(p.at);
  }
  return out;
}

// Whether these are the places, each within `off` mm, in this order.
void expect_places(const std::vector<Position>& found, const std::vector<Position>& places,
                   double off = 0.3) {
  ASSERT_EQ(found.size(), places.size());
  for (std::size_t i = 0; i < found.size(); ++i)
    EXPECT_LT(distance_nm(found[i], places[i]), off * 1e6) << i;
}

TEST(DeadEnds, AnAreaOnATrackAsWideIsAPlace) {
  LittleBoard b = track_of_a();
  area(b.track(0, 5, 0, 5, 5, 0.8), 5, 5, 1, 1);
  expect_places(unlisted(b), {position_mm(5, 5)});
}

TEST(DeadEnds, AnAreaOnATrackDrawnAsAnAreaIsAPlace) {
  LittleBoard b = track_of_a();
  area(area(b, 5, 2.5, 0.3, 5), 5, 5.3, 1, 1);
  expect_places(unlisted(b), {position_mm(5, 5.3)});
}

TEST(DeadEnds, AnAreaWhoseTrackEndsShortOfItIsAPlace) {
  LittleBoard b = track_of_a();
  area(b.track(0, 5, 0, 5, 4.6, 0.3), 5, 5.2, 1, 1);
  expect_places(unlisted(b), {position_mm(5, 5.2)});
}

// Whoever left it over: nothing is soldered to it, unless the mask is open there.
TEST(DeadEnds, ATrackThatJustEndsIsNone) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.5);
  EXPECT_EQ(unlisted(b).size(), 0u);
  LittleBoard opening;
  opening.pad(0, 5, 5, 3, 1);
  b.design.mask_top.emplace().objects = opening.design.copper[0].objects;
  expect_places(unlisted(b), {position_mm(5, 5)});
}

TEST(DeadEnds, ABroaderStrokeAtTheEndIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.3).track(0, 5, 5, 5, 9, 0.39);
  expect_places(unlisted(b), {position_mm(5, 9)});
}

// A long pad across its track, of one stroke: its ends look like tracks left over.
TEST(DeadEnds, ABroaderStrokeAcrossTheEndIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.3).track(0, 4, 5, 6, 5, 0.39);
  expect_places(unlisted(b), {position_mm(5, 5)}, 1.1);
}

// Five strokes of 0.2 mm, 0.2 mm apart.
TEST(DeadEnds, APadPaintedWithThinStrokesIsAPlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.2);
  for (int i = 0; i < 5; ++i) b.track(0, 4.5, 4.6 + 0.2 * i, 5.5, 4.6 + 0.2 * i, 0.2);
  expect_places(unlisted(b), {position_mm(5, 5)});
}

// The frame alone: a ring on a neck.
TEST(DeadEnds, ARingOnATrackIsOnePlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.3).track(0, 4, 5, 6, 5, 0.3).track(0, 4, 7, 6, 7, 0.3);
  b.track(0, 4, 5, 4, 7, 0.3).track(0, 6, 5, 6, 7, 0.3);
  expect_places(unlisted(b), {position_mm(5, 6)}, 1.6);
}

// Its lines just end, as where no frame is drawn.
TEST(DeadEnds, AHatchedPourWithoutAFrameIsOnePlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 10, 0.3);
  for (int i = 0; i < 5; ++i)
    b.track(0, 3.0 + i, 5, 3.0 + i, 10, 0.3).track(0, 2.5, 5.5 + i, 7.5, 5.5 + i, 0.3);
  expect_places(unlisted(b), {position_mm(5, 7.5)}, 2.2);
}

TEST(DeadEnds, AHatchedPourOnANeckIsOnePlace) {
  LittleBoard b = track_of_a();
  b.track(0, 5, 0, 5, 5, 0.3);
  for (int i = 0; i < 6; ++i)
    b.track(0, 2.5 + i, 5, 2.5 + i, 10, 0.3).track(0, 2.5, 5.0 + i, 7.5, 5.0 + i, 0.3);
  expect_places(unlisted(b), {position_mm(5, 7.5)}, 1);
}

// Fingers of 0.6 by 3 mm, 1.2 mm apart, with a bus across: one area.
LittleBoard comb() {
  LittleBoard b = track_of_a();
  std::vector<Position> corners{position_mm(3, 2)};
  for (int i = 4; i >= 0; --i) {
    const double x = 3.3 + 1.2 * i;
    for (const auto& [dx, y] :
         {std::pair(0.3, 2.6), std::pair(0.3, 6.0), std::pair(-0.3, 6.0), std::pair(-0.3, 2.6)})
      corners.insert(corners.begin() + 1, position_mm(x - dx, y));
  }
  corners.push_back(position_mm(8.4, 2));
  return area(b.track(0, 5, 0, 5, 2.3, 0.3), std::move(corners));
}

TEST(DeadEnds, EachFingerOfACombIsAPlace) {
  const auto found = unlisted(comb());
  ASSERT_EQ(found.size(), 5u);
  for (int i = 0; i < 5; ++i)
    EXPECT_TRUE(std::ranges::any_of(found, [&](Position p) {
      return distance_nm(p, position_mm(3.3 + 1.2 * i, 5.7)) < 0.2e6;
    })) << i;
}

// The half of its width round the middle of each would reach the other: 0.5 by 1.5 mm, 0.2 mm apart.
TEST(DeadEnds, TwoLeaningPadsSideBySideAreTwo) {
  LittleBoard b = track_of_a();
  leaning(b.track(0, 5.2, 0, 5.2, 4.3, 0.2), 4.75, 4.75, 0.5, 1.5);
  leaning(b.track(0, 5.7, 0, 5.7, 4.8, 0.2), 5.25, 5.25, 0.5, 1.5);
  EXPECT_EQ(unlisted(b).size(), 2u);
}

TEST(DeadEnds, APadBesideAListedOneIsAPlaceHoweverLargeTheRecord) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 0.35, 1.2).record("A", "U1", "1", 5, 5, 1);
  b.design.netlist->records.back().size_x = b.design.netlist->records.back().size_y = from_mm(3);
  b.pad(0, 5.65, 5, 0.35, 1.2).track(0, 5, 0, 5, 5, 0.2).track(0, 5.65, 0, 5.65, 5, 0.2);
  expect_places(unlisted(b), {position_mm(5.65, 5)});
}

TEST(DeadEnds, ALargeFlashDoesNotSwallowASmallOneBesideIt) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 1.6, 1.6).record("A", "U1", "1", 5, 5, 1).pad(0, 6.1, 5, 0.4, 0.4);
  b.track(0, 5, 0, 5, 5, 0.2).track(0, 6.1, 0, 6.1, 5, 0.2);
  expect_places(unlisted(b), {position_mm(6.1, 5)});
  b.design.copper[0].objects[4].kind = ObjectKind::region;  // drawn as an area
  b.design.copper[0].objects[4].width = {};
  expect_places(unlisted(b), {position_mm(6.1, 5)});
}

// A pin beside a listed one of its net, on a track between the two.
TEST(DeadEnds, APadHungOnAListedOneIsAPlace) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 0.45, 0.45).record("A", "U1", "1", 5, 5, 1).track(0, 5, 0, 5, 5, 0.2);
  area(b.track(0, 5, 5, 5.65, 5, 0.2), 5.65, 5, 0.45, 0.45);
  expect_places(unlisted(b), {position_mm(5.65, 5)});
}

TEST(DeadEnds, WhatStandsOutFromAPadOrTrackByLessThanItsWidthIsNone) {
  LittleBoard b = track_of_a();
  b.track(0, 0, 0, 0, 0.7, 0.4);  // 0.4 mm beyond the pad
  b.track(0, 5, 0, 5, 0.2, 0.3);  // 0.2 mm beyond the track
  EXPECT_EQ(unlisted(b).size(), 0u);
}

TEST(DeadEnds, EndsOfALongPadAreItsOwn) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 0.3, 3).record("A", "U1", "1", 5, 5, 1).track(0, 5, 0, 5, 4, 0.2);
  EXPECT_EQ(unlisted(b).size(), 0u);
}

TEST(DeadEnds, AFlashOfAnyFunctionIsAPlace) {
  for (const char* function : {"Conductor", "Other", "EtchedComponent", "FiducialPad"}) {
    LittleBoard b = track_of_a();
    formats::Attributes a;
    a.aperture_function = function;
    b.track(0, 5, 0, 5, 8, 0.3).pad(0, 5, 4, 1, 1, a).pad(0, 5, 8, 1, 1, a);
    expect_places(unlisted(b), {position_mm(5, 4), position_mm(5, 8)});
  }
}

TEST(DeadEnds, AConductorFlashThatRoundsATrackIsNone) {
  LittleBoard b = track_of_a();
  formats::Attributes a;
  a.aperture_function = "Conductor";
  b.pad(0, 5, 0, 0.3, 0.3, a);
  b.track(0, 5, 0, 5, 5, 0.3).surface("A", "R5", "1", 5, 5);
  EXPECT_EQ(unlisted(b).size(), 0u);
}

TEST(DeadEnds, AnAreaThatSaysItIsAPadIsAPlaceWithoutAPin) {
  LittleBoard b = track_of_a();
  area(b.track(0, 5, 0, 5, 8, 1), 5, 4, 1, 1);
  b.surface("A", "R5", "1", 5, 8);
  EXPECT_EQ(unlisted(b).size(), 0u);
  b.design.copper[0].attributes.emplace_back().aperture_function = "SMDPad";
  for (auto& o : b.design.copper[0].objects) {
    if (o.kind == ObjectKind::region)
      o.attributes = static_cast<std::uint32_t>(b.design.copper[0].attributes.size() - 1);
  }
  expect_places(unlisted(b), {position_mm(5, 4)});
}

// The point of a record whose place has no copper is laid on what it has.
TEST(DeadEnds, ARecordInAHoleOfItsCopperIsTouchedBesideIt) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 2, 2).track(0, 5, 0, 5, 4.5, 0.4).record("A", "J1", "1", 5, 5, 1);
  b.design.netlist->records.back().size_x = b.design.netlist->records.back().size_y = from_mm(2);
  b.pad(0, 5, 5, 0.6, 0.6);
  b.design.copper[0].objects.back().dark = false;
  const auto board = whole(std::move(b));
  const expect::Point& p = board->expectation.point(point(*board, "J1.1"));
  EXPECT_NE(locate(p.at, board->copper.island(*p.islands[0])), Where::outside);
  EXPECT_NEAR(distance_nm(p.at, position_mm(5, 5)), 0.65e6, 0.3e6);  // between 0.3 and 1 mm
}

// A pour of 6 by 6 mm under a pad; arms of 0.5 mm out of it, drawn in one with the pour.
TEST(DeadEnds, AnArmOfAPourIsAPlaceWhereItIsBroaderAtItsEnd) {
  for (const double end : {0.6, 0.8}) {
    LittleBoard b = track_of_a();
    b.surface("A", "R3", "1", 13, 0).track(0, 10, 0, 13, 0, 0.5);
    area(b, {position_mm(11, -3), position_mm(17, -3), position_mm(17, -0.25),
             position_mm(19, -0.25), position_mm(19, -end / 2), position_mm(20, -end / 2),
             position_mm(20, end / 2), position_mm(19, end / 2), position_mm(19, 0.25),
             position_mm(17, 0.25), position_mm(17, 3), position_mm(11, 3)});
    const auto found = unlisted(b);
    EXPECT_EQ(found.size(), end > 0.7 ? 1u : 0u) << end;
  }
}

// As broad as its track, but a thing of its own.
TEST(DeadEnds, AnAreaAtTheEndOfATrackOutOfAPourIsAPlace) {
  LittleBoard b = track_of_a();
  area(b.track(0, 10, 0, 13, 0, 0.5).surface("A", "R3", "1", 13, 0), 14, 0, 6, 6);
  b.track(0, 17, 0, 19, 0, 1);
  EXPECT_EQ(unlisted(b).size(), 0u);
  expect_places(unlisted(area(b, 19, 0, 1, 1)), {position_mm(19, 0)});
}

// An area nowhere as wide as a pour: 1.8 mm, and a finger out of it that is less than half of that, or more.
TEST(DeadEnds, AFingerOfAnAreaTwiceAsWideIsNone) {
  for (const double finger : {0.4, 1.0}) {
    LittleBoard b = track_of_a();
    b.surface("A", "R3", "1", 11, 6);
    area(b, {position_mm(9.1, 0), position_mm(10.9, 0), position_mm(10.9, 3), position_mm(14, 3),
             position_mm(14, 3 + finger), position_mm(10.9, 3 + finger), position_mm(10.9, 6),
             position_mm(9.1, 6)});
    EXPECT_EQ(unlisted(b).size(), finger > 0.6 ? 1u : 0u) << finger;
  }
}

// Two bodies with a slimmer way between, and no record, flash or hole: one area, or painted.
TEST(DeadEnds, BothBodiesOfUnknownCopperArePlaces) {
  LittleBoard b = track_of_a();
  area(area(area(b, 2, 5, 1, 1), 5, 5, 6, 0.3), 8, 5, 1, 1);
  expect_places(unlisted(b), {position_mm(2, 5), position_mm(8, 5)});
  LittleBoard painted = track_of_a();
  painted.track(0, 2, 5, 8, 5, 0.2);
  for (int i = 0; i < 5; ++i) {
    painted.track(0, 1.5, 4.6 + 0.2 * i, 2.5, 4.6 + 0.2 * i, 0.2);
    painted.track(0, 7.5, 4.6 + 0.2 * i, 8.5, 4.6 + 0.2 * i, 0.2);
  }
  EXPECT_EQ(unlisted(painted).size(), 2u);
}

TEST(DeadEnds, ALetterIsNone) {
  LittleBoard b = track_of_a();
  b.track(0, 2, 5, 2, 9, 0.5).track(0, 2, 9, 4, 9, 0.5).track(0, 2, 7, 4, 7, 0.5);
  EXPECT_EQ(unlisted(b).size(), 0u);
}

// Copper leads from one half to the other only round by the track.
TEST(DeadEnds, TheOtherHalfOfASplitPadIsAPlaceAndPartsFromIt) {
  LittleBoard b = track_of_a();
  b.pad(0, 5, 5, 2, 1).pad(0, 5, 5, 0.3, 2);
  b.design.copper[0].objects.back().dark = false;
  b.record("A", "J1", "1", 4.5, 5, 1);
  b.track(0, 4.3, 0, 4.3, 5, 0.3).track(0, 5.7, 0, 5.7, 5, 0.3);
  const auto board = whole(std::move(b));
  const auto& points = board->expectation.points;
  ASSERT_TRUE(points.back().unlisted);
  EXPECT_LT(distance_nm(points.back().at, position_mm(5.6, 5)), 0.3e6);
  EXPECT_NE(board->faults.node_of(point(*board, "J1.1"), Side::top),
            board->faults.node_of(static_cast<PointId>(points.size() - 1), Side::top));
}

}  // namespace
}  // namespace isthmus::test
