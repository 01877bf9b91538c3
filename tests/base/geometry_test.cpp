// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/geometry.hpp"

#include <gtest/gtest.h>

namespace isthmus {
namespace {

const Contour kSquare{{0, 0}, {10, 0}, {10, 10}, {0, 10}};

TEST(Orientation, SwapsSignWhenTwoArgumentsSwap) {
  EXPECT_EQ(orientation({0, 0}, {5, 1}, {3, 4}), 1);
  EXPECT_EQ(orientation({5, 1}, {0, 0}, {3, 4}), -1);
}

TEST(Orientation, IsExactAtTheEndsOfTheSafeRange) {
  const std::int64_t m = kMaxCoordinate;
  EXPECT_EQ(orientation({-m, -m}, {m, m}, {m, m - 1}), -1);
  EXPECT_EQ(orientation({-m, -m}, {m, m}, {0, 0}), 0);
}

TEST(Locate, TellsInsideBoundaryAndOutside) {
  EXPECT_EQ(locate({5, 5}, kSquare), Where::inside);
  EXPECT_EQ(locate({10, 3}, kSquare), Where::boundary);
  EXPECT_EQ(locate({10, 10}, kSquare), Where::boundary);
  EXPECT_EQ(locate({11, 5}, kSquare), Where::outside);
  EXPECT_EQ(locate({-1, 10}, kSquare), Where::outside);
}

TEST(Locate, AHoleIsOutsideAndItsEdgeIsBoundary) {
  const Polygon ring{kSquare, {{{3, 3}, {3, 7}, {7, 7}, {7, 3}}}};
  EXPECT_EQ(locate({5, 5}, ring), Where::outside);
  EXPECT_EQ(locate({3, 5}, ring), Where::boundary);
  EXPECT_EQ(locate({2, 5}, ring), Where::inside);
  EXPECT_DOUBLE_EQ(area_nm2(ring), 100 - 16);
}

TEST(ClosestOfSegments, IsZeroWhereTheyCross) {
  const Closest c = closest(Segment{{0, 0}, {10, 10}}, Segment{{0, 10}, {10, 0}});
  EXPECT_EQ(c.distance_nm, 0);
  EXPECT_EQ(c.on_first, (Position{5, 5}));
}

TEST(ClosestOfSegments, NamesThePlaceOnEach) {
  const Closest c = closest(Segment{{0, 0}, {100, 0}}, Segment{{50, 30}, {50, 90}});
  EXPECT_DOUBLE_EQ(c.distance_nm, 30);
  EXPECT_EQ(c.on_first, (Position{50, 0}));
  EXPECT_EQ(c.on_second, (Position{50, 30}));
}

TEST(ClosestOfSegments, TouchingEndIsZero) {
  EXPECT_EQ(closest(Segment{{0, 0}, {10, 0}}, Segment{{10, 0}, {20, 5}}).distance_nm, 0);
  EXPECT_EQ(closest(Segment{{0, 0}, {10, 0}}, Segment{{5, 0}, {20, 0}}).distance_nm, 0);
}

}  // namespace
}  // namespace isthmus
