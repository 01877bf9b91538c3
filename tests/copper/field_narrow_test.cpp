// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "copper/field/narrow.hpp"
#include "tests/copper/copper_shapes.hpp"

namespace isthmus::copper {
namespace {

using namespace test;

class NarrowPlaces : public testing::TestWithParam<double> {
 protected:
  std::vector<NarrowPlace> found(const Mm& outer, const std::vector<Mm>& holes = {},
                                 double narrower_than_mm = 0.15) const {
    std::vector<Mm> h;
    for (const Mm& hole : holes) h.push_back(turned(hole, GetParam()));
    return narrow_places({polygon(turned(outer, GetParam()), h)}, narrower_than_mm * 1e6);
  }
  void expect_tip(const NarrowPlace& p, double x, double y, double width) const {
    const auto [tx, ty] = turned({{x, y}}, GetParam())[0];
    const Position at = position_mm(tx, ty);
    EXPECT_LT(std::hypot(p.tip.x - at.x, p.tip.y - at.y), 3);
    EXPECT_NEAR(p.width, width * 1e6, 3);
  }
};
INSTANTIATE_TEST_SUITE_P(Turned, NarrowPlaces, testing::Values(0.0, 17.0, 45.0, 118.0));

TEST_P(NarrowPlaces, ACrackIsNarrowAtItsTip) {
  const auto places =
      found({{0, 0}, {2, 0}, {2.0001, 0.28}, {2.0002, 0}, {4, 0}, {4, 0.3}, {0, 0.3}});
  ASSERT_EQ(places.size(), 1u);
  expect_tip(places[0], 2.0001, 0.28, 0.02);
}

TEST_P(NarrowPlaces, ANeckIsNarrowAtItsFourCorners) {
  const auto places = found({{0, 0},
                             {2, 0},
                             {2, 0.1},
                             {3, 0.1},
                             {3, 0},
                             {5, 0},
                             {5, 0.3},
                             {3, 0.3},
                             {3, 0.2},
                             {2, 0.2},
                             {2, 0.3},
                             {0, 0.3}});
  EXPECT_EQ(places.size(), 4u);
  for (const NarrowPlace& p : places) EXPECT_NEAR(p.width, 0.1e6, 3);
}

TEST_P(NarrowPlaces, WhatCopperLeadsRoundIsNone) {
  // A slot beside the edge: narrow, but current may take the other side.
  const Mm slot{{1, 0.05}, {2, 0.05}, {2, 0.2}, {1, 0.2}};
  EXPECT_TRUE(found(rectangle(0, 0, 4, 2), {slot}).empty());
}

TEST_P(NarrowPlaces, BetweenTwoHolesIsNone) {
  EXPECT_TRUE(
      found(rectangle(0, 0, 4, 3), {rectangle(1, 1, 1.9, 2), rectangle(2, 1, 3, 2)}).empty());
}

TEST_P(NarrowPlaces, APocketInAHoleIsOne) {
  // A hole nearly closed on itself: the copper inside hangs on by 0.1.
  const Mm hole{{1, 1},     {1.95, 1},   {1.95, 1.1}, {1.1, 1.1}, {1.1, 1.9}, {2.9, 1.9},
                {2.9, 1.1}, {2.05, 1.1}, {2.05, 1},   {3, 1},     {3, 2},     {1, 2}};
  const auto places = found(rectangle(0, 0, 4, 3), {hole});
  ASSERT_FALSE(places.empty());
  for (const NarrowPlace& p : places) EXPECT_NEAR(p.width, 0.1e6, 3);
}

TEST_P(NarrowPlaces, WhatHasNothingBehindItIsNone) {
  // A strip that ends in a lip of 0.1 x 0.03, then in one of 0.1 x 0.1.
  const auto lip = [&](double x) {
    return found({{0, 0}, {3.86, 0}, {3.9, 0.2}, {x, 0.19}, {x, 0.3}, {0, 0.3}});
  };
  EXPECT_TRUE(lip(3.93).empty());
  EXPECT_EQ(lip(4.0).size(), 1u);
}

TEST_P(NarrowPlaces, APlainTrackWithBendsHasNone) {
  EXPECT_TRUE(
      found({{0, 0}, {3, 0}, {4, 1}, {4, 3}, {3.7, 3}, {3.7, 1.124}, {2.876, 0.3}, {0, 0.3}})
          .empty());
}

TEST(InnerCorners, PointIntoTheCopperByMoreThan50Degrees) {
  const auto l = inner_corners({polygon({{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 3}, {0, 3}})});
  ASSERT_EQ(l.size(), 1u);
  EXPECT_EQ(l[0], position_mm(1, 1));
  EXPECT_TRUE(
      inner_corners(
          {polygon(
              {{0, 0}, {3, 0}, {4, 1}, {4, 3}, {3.7, 3}, {3.7, 1.124}, {2.876, 0.3}, {0, 0.3}})})
          .empty());
  EXPECT_EQ(inner_corners({polygon(rectangle(0, 0, 4, 3), {rectangle(1, 1, 2, 2)})}).size(), 4u);
  EXPECT_TRUE(inner_corners({polygon(rectangle(0, 0, 4, 3), {circle(2, 1, 0.6)})}).empty());
}

}  // namespace
}  // namespace isthmus::copper
