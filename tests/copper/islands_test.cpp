// SPDX-License-Identifier: Apache-2.0
#include "isthmus/copper/islands.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "tests/support/random_layer.hpp"

namespace isthmus::copper {
namespace {

using formats::Object;
using test::circle;
using test::clear;
using test::dark;
using test::design_of;
using test::disc;
using test::rectangle;
using test::ring;
using test::track;

Copper extract(std::vector<Object> objects) {
  return extract_copper(design_of(std::move(objects))).value();
}
std::size_t count(std::vector<Object> objects) {
  return extract(std::move(objects)).islands.size();
}

TEST(Islands, ObjectsApartAreIslandsOfTheirOwn) {
  EXPECT_EQ(count({dark(disc(0, 0, 1)), dark(disc(2, 0, 1)), dark(rectangle(4, 0, 5, 1))}), 3U);
}

TEST(Islands, OverlapJoinsAndTheAreaIsThatOfTheUnion) {
  const Copper copper = extract({dark(rectangle(0, 0, 2, 1)), dark(rectangle(1, 0, 3, 1))});
  ASSERT_EQ(copper.islands.size(), 1U);
  EXPECT_EQ(copper.islands[0].area_nm2, 3e12);
  EXPECT_EQ(copper.islands[0].outline, rectangle(0, 0, 3, 1));
  EXPECT_TRUE(copper.marginals.empty());
}

TEST(Islands, ASharedEdgeJoins) {
  const Copper copper = extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1, 0, 2, 1))});
  ASSERT_EQ(copper.islands.size(), 1U);
  EXPECT_EQ(copper.islands[0].outline, rectangle(0, 0, 2, 1));
  EXPECT_TRUE(copper.marginals.empty());
}

TEST(Islands, ASharedPartOfASlantedEdgeJoins) {
  const Polygon below{{{0, 0}, {3'000'000, 1'000'000}, {3'000'000, 0}}, {}};
  const Polygon above{{{0, 0}, {3'000'000, 1'000'000}, {0, 1'000'000}}, {}};
  EXPECT_EQ(count({dark(below), dark(above)}), 1U);
}

TEST(Islands, ASingleSharedPointJoinsAndIsMarginal) {
  const Copper copper = extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1, 1, 2, 2))});
  ASSERT_EQ(copper.islands.size(), 1U);
  EXPECT_EQ(copper.islands[0].area_nm2, 2e12);
  ASSERT_EQ(copper.marginals.size(), 1U);
  EXPECT_EQ(copper.marginals[0].a, copper.marginals[0].b);
  EXPECT_EQ(copper.marginals[0].at, position_mm(1, 1));
}

TEST(Islands, EveryPieceOfAnIslandIsFound) {
  const Copper copper = extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1, 1, 3, 3))});
  const Island& island = copper.islands[0];
  EXPECT_EQ(island.box, (Box{position_mm(0, 0), position_mm(3, 3)}));
  EXPECT_EQ(locate(position_mm(0.5, 0.5), island), Where::inside);
  EXPECT_EQ(locate(position_mm(2, 2), island), Where::inside);
  EXPECT_EQ(locate(position_mm(1, 1), island), Where::boundary);
  EXPECT_EQ(locate(position_mm(2, 0.5), island), Where::outside);
  const IslandIndex index(copper);
  EXPECT_EQ(index.at(LayerId{0}, position_mm(0.5, 0.5)), IslandId{0});
  EXPECT_EQ(index.at(LayerId{0}, position_mm(2, 2)), IslandId{0});
}

TEST(Islands, ACornerOnAnEdgeJoins) {
  const Polygon arrow{{{1'000'000, 500'000}, {2'000'000, 0}, {2'000'000, 1'000'000}}, {}};
  const Copper copper = extract({dark(rectangle(0, 0, 1, 1)), dark(arrow)});
  EXPECT_EQ(copper.islands.size(), 1U);
  EXPECT_EQ(copper.marginals.size(), 1U);
}

TEST(Islands, OneNanometreApartIsTwoIslandsAndMarginal) {
  const Copper copper = extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1.000001, 0, 2, 1))});
  EXPECT_EQ(copper.islands.size(), 2U);
  ASSERT_EQ(copper.marginals.size(), 1U);
  EXPECT_EQ(copper.marginals[0].distance_nm, 1);
  EXPECT_NE(copper.marginals[0].a, copper.marginals[0].b);
}

TEST(Islands, OneMicrometreApartIsNotMarginal) {
  EXPECT_TRUE(
      extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1.001, 0, 2, 1))}).marginals.empty());
  EXPECT_EQ(
      extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1.000999, 0, 2, 1))}).marginals.size(),
      1U);
}

TEST(Islands, AJointThinnerThanAMicrometreIsMarginal) {
  const auto dumbbell = [](double width) {
    return extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(3, 0, 4, 1)),
                    dark(rectangle(0.5, 0.5, 3.5, 0.5 + width))});
  };
  const Copper thin = dumbbell(0.0008);
  ASSERT_EQ(thin.islands.size(), 1U);
  ASSERT_EQ(thin.marginals.size(), 1U);
  EXPECT_EQ(thin.marginals[0].distance_nm, 800);
  EXPECT_TRUE(dumbbell(0.002).marginals.empty());
}

TEST(Islands, AnOverlapByLessThanAMicrometreIsMarginal) {
  const Copper copper =
      extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(0.9999, 0.9995, 2, 2))});
  EXPECT_EQ(copper.islands.size(), 1U);
  EXPECT_EQ(copper.marginals.size(), 1U);
}

TEST(Islands, AThinSliverThatHoldsNothingIsNotMarginal) {
  EXPECT_TRUE(extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(0.5, 0.5, 3, 0.5005))})
                  .marginals.empty());
}

TEST(Islands, AThinJointBesideAWideOneIsNotMarginal) {
  const Copper copper =
      extract({dark(rectangle(0, 0, 1, 4)), dark(rectangle(3, 0, 4, 4)),
               dark(rectangle(0.5, 0.5, 3.5, 0.5005)), dark(rectangle(0.5, 2, 3.5, 3))});
  EXPECT_EQ(copper.islands.size(), 1U);
  EXPECT_TRUE(copper.marginals.empty());
}

TEST(Islands, AnIslandInsideTheHoleOfAnotherIsFound) {
  const Copper copper =
      extract({dark(ring(0, 0, 10, 6)), dark(ring(0, 0, 4, 2)), dark(disc(0, 0, 1))});
  EXPECT_EQ(copper.islands.size(), 3U);
}

TEST(Islands, TracksThatCloseARingLeaveAHole) {
  const Copper copper =
      extract({dark(track(0, 0, 4, 0, 0.5)), dark(track(4, 0, 4, 4, 0.5)),
               dark(track(4, 4, 0, 4, 0.5)), dark(track(0, 4, 0, 0, 0.5)), dark(disc(2, 2, 1))});
  ASSERT_EQ(copper.islands.size(), 2U);
  EXPECT_EQ(copper.islands[0].outline.holes.size(), 1U);
}

TEST(Islands, AClearObjectCutsATrackInTwo) {
  EXPECT_EQ(count({dark(track(0, 0, 10, 0, 0.3)), clear(rectangle(4, -1, 5, 1))}), 2U);
}

TEST(Islands, WhatIsDrawnAfterAClearObjectStays) {
  EXPECT_EQ(count({clear(rectangle(4, -1, 5, 1)), dark(track(0, 0, 10, 0, 0.3))}), 1U);
  EXPECT_EQ(count({dark(track(0, 0, 10, 0, 0.3)), clear(rectangle(4, -1, 5, 1)),
                   dark(track(3, 0, 6, 0, 0.1))}),
            1U);
}

TEST(Islands, APourWithClearanceAndAPadRedrawnInside) {
  const Copper copper =
      extract({dark(rectangle(0, 0, 20, 20)), clear(disc(5, 5, 3)), dark(disc(5, 5, 2)),
               clear(disc(15, 15, 3)), dark(disc(15, 15, 2)), dark(track(13, 15, 17, 15, 0.4))});
  ASSERT_EQ(copper.islands.size(), 2U);
  EXPECT_EQ(copper.islands[0].outline.holes.size(),
            3U);  // the thermal's ring falls into two halves
}

TEST(Islands, AClearObjectWithAHoleKeepsWhatLiesInTheHole) {
  EXPECT_EQ(count({dark(rectangle(0, 0, 10, 10)), clear(ring(5, 5, 4, 2))}), 2U);
}

TEST(Islands, APadClearedAndRedrawnTheSameIsJoinedAgain) {
  const Polygon pad{circle(5, 5, 2, 37), {}};
  const Copper copper = extract({dark(rectangle(0, 0, 10, 10)), clear(pad), dark(pad)});
  ASSERT_EQ(copper.islands.size(), 1U);
  EXPECT_EQ(copper.islands[0].area_nm2, 100e12);
}

TEST(Islands, ManyAlternationsOfDarkAndClearKeepTheirOrder) {
  std::vector<Object> objects;
  for (int i = 0; i < 20; ++i) {
    const double d = 20 - i;
    objects.push_back(i % 2 == 0 ? dark(disc(0, 0, d, 64)) : clear(disc(0, 0, d, 64)));
  }
  EXPECT_EQ(count(objects), 10U);
}

TEST(Islands, LayersKeepApart) {
  const Copper copper =
      extract_copper(design_of(std::vector<formats::LayerImage>{
                         test::layer_of({dark(disc(0, 0, 1)), dark(disc(3, 0, 1))}),
                         {},
                         test::layer_of({dark(track(0, 0, 3, 0, 1))})}))
          .value();
  ASSERT_EQ(copper.layers, 3U);
  ASSERT_EQ(copper.islands.size(), 3U);
  EXPECT_EQ(copper.islands[2].layer, LayerId{2});
}

TEST(Islands, AreNumberedByLeftThenLowThenAreaWhateverTheDrawingOrder) {
  std::vector<Object> objects{dark(disc(5, 0, 1)), dark(disc(0, 5, 1)), dark(disc(0, 0, 1)),
                              dark(ring(0, 0, 3, 2)), dark(track(0.2, 0, 0, 0.1, 0.3))};
  const Copper one = extract(objects);
  std::reverse(objects.begin(), objects.end());
  const Copper two = extract(objects);
  ASSERT_EQ(one.islands.size(), 4U);
  for (std::size_t i = 0; i < 4; ++i) EXPECT_EQ(one.islands[i].outline, two.islands[i].outline);
  EXPECT_EQ(one.islands[0].box.lo, position_mm(-1.5, -1.5));
  EXPECT_EQ(one.islands[3].box.lo.x, position_mm(4.5, 0).x);
}

std::vector<double> areas(const Copper& copper) {
  std::vector<double> out;
  for (const Island& island : copper.islands) out.push_back(island.area_nm2);
  std::sort(out.begin(), out.end());
  return out;
}

TEST(Islands, AreTheSameTurnedMirroredShiftedAndShuffled) {
  for (std::uint32_t seed = 21; seed <= 26; ++seed) {
    SCOPED_TRACE(seed);
    const std::vector<Object> objects = test::random_objects(seed, {.objects = 60});
    const std::vector<double> plain = areas(extract(objects));
    for (const test::Move& move : {test::Move{true, false, {}}, test::Move{false, true, {}},
                                   test::Move{true, true, {-7'000'001, 12'345}}}) {
      std::vector<Object> other = test::moved(objects, move);
      std::reverse(other.begin(), other.end());
      const std::vector<double> moved = areas(extract(std::move(other)));
      ASSERT_EQ(moved.size(), plain.size());
      // Crossings are rounded elsewhere: some 0.7 nm along an outline of decimetres.
      for (std::size_t i = 0; i < plain.size(); ++i) EXPECT_NEAR(moved[i], plain[i], 1e8);
    }
  }
}

TEST(Islands, TwoCopiesSideBySideAreTwiceTheIslands) {
  std::vector<Object> objects = test::random_objects(31, {.objects = 60, .clear_share = 0.2});
  const std::size_t once = count(objects);
  for (const Object& o : test::moved(objects, {false, false, position_mm(60, 0)}))
    objects.push_back(o);
  EXPECT_EQ(count(objects), 2 * once);
}

TEST(Islands, TheSameInputGivesTheSameOutlines) {
  const auto objects = test::random_objects(8, {.objects = 60, .clear_share = 0.2, .grid_mm = 0.5});
  const Copper one = extract(objects), two = extract(objects);
  ASSERT_EQ(one.islands.size(), two.islands.size());
  for (std::size_t i = 0; i < one.islands.size(); ++i) {
    EXPECT_EQ(one.islands[i].outline, two.islands[i].outline);
  }
}

TEST(Islands, ObjectsWithoutAreaAreNoCopperAndJoinNothing) {
  const Polygon line{{{0, 0}, {5'000'000, 0}, {2'000'000, 0}}, {}};
  EXPECT_EQ(count({dark(disc(0, 0, 1)), dark(disc(5, 0, 1)), dark(line), test::object(true, {})}),
            2U);
}

TEST(Islands, CopperBeyondTheSafeRangeIsRefused) {
  auto design = design_of({dark(disc(1071, 0, 1))});
  design.copper[0].objects[0].line = 7;
  const Problem problem = extract_copper(design).problem();
  EXPECT_EQ(format(problem),
            "layer.gbr:7: error CPR-001: copper reaches beyond 1070 mm from the origin\n"
            "  hint: check the units and the number format of the file");
}

TEST(Islands, ArtworkWithoutCopperIsRefused) {
  EXPECT_EQ(extract_copper(design_of({clear(disc(0, 0, 1))})).problem().code, "CPR-002");
  EXPECT_EQ(extract_copper(design_of(std::vector<formats::LayerImage>{})).problem().code,
            "CPR-002");
}

TEST(IslandIndex, TellsWhichIslandLiesAtAPlace) {
  const Copper copper = extract({dark(ring(0, 0, 10, 6)), dark(disc(0, 0, 2))});
  const IslandIndex index(copper);
  EXPECT_EQ(index.at(LayerId{0}, position_mm(0, 0)), IslandId{1});
  EXPECT_EQ(index.at(LayerId{0}, position_mm(4, 0)), IslandId{0});
  EXPECT_EQ(index.at(LayerId{0}, position_mm(5, 0)), IslandId{0});
  EXPECT_EQ(index.at(LayerId{0}, position_mm(2, 0)), std::nullopt);
  EXPECT_EQ(index.at(LayerId{0}, position_mm(6, 0)), std::nullopt);
  EXPECT_EQ(index.at(LayerId{1}, position_mm(0, 0)), std::nullopt);
}

TEST(IslandIndex, NearIsByDistanceToTheCopper) {
  const Copper copper = extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(2, 0, 3, 1)),
                                 dark(rectangle(0, 1.2, 3, 2)), dark(rectangle(50, 50, 51, 51))});
  const IslandIndex index(copper);
  const auto near = [&](double x, double y, Nanometres reach) {
    return index.near(LayerId{0}, position_mm(x, y), reach);
  };
  using Ids = std::vector<IslandId>;
  EXPECT_EQ(near(1.5, 0.5, 499_um), Ids{});
  EXPECT_EQ(near(1.5, 0.5, 500_um), (Ids{IslandId{0}, IslandId{2}}));
  EXPECT_EQ(near(1.5, 0.8, 600_um), (Ids{IslandId{1}, IslandId{0}, IslandId{2}}));
  EXPECT_EQ(near(0.5, 0.5, 0_nm), Ids{IslandId{0}});
  EXPECT_EQ(near(0.5, 0.5, 1_mm), (Ids{IslandId{0}, IslandId{1}}));
}

}  // namespace
}  // namespace isthmus::copper
