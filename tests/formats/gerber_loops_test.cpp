// SPDX-License-Identifier: Apache-2.0
#include <random>

#include "formats/gerber/loops.hpp"
#include "tests/formats/gerber_support.hpp"

namespace isthmus::formats::gerber {
namespace {

double difference_mm2(const Polygons& a, const Polygons& b) {
  return area_mm2(subtract(a, b)) + area_mm2(subtract(b, a));
}

Contour scaled(Contour contour) {
  for (Position& p : contour) p = {p.x * 1'000'000, p.y * 1'000'000};
  return contour;
}

const Contour kCutIn = scaled({{0, 0},
                               {10, 0},
                               {10, 10},
                               {0, 10},
                               {0, 5},
                               {2, 5},
                               {2, 8},
                               {8, 8},
                               {8, 2},
                               {2, 2},
                               {2, 5},
                               {0, 5}});

TEST(GerberLoops, TakeOutACutIn) {
  const auto filled = fill_simple(kCutIn);
  ASSERT_TRUE(filled.has_value());
  ASSERT_EQ(filled->size(), 1u);
  EXPECT_EQ((*filled)[0].outer.size(), 4u);
  ASSERT_EQ((*filled)[0].holes.size(), 1u);
  EXPECT_NEAR(area_mm2(*filled), 100 - 36, 1e-9);
}

TEST(GerberLoops, GiveTheSameInEitherDirection) {
  const Contour reversed(kCutIn.rbegin(), kCutIn.rend());
  EXPECT_NEAR(difference_mm2(*fill_simple(kCutIn), *fill_simple(reversed)), 0, 1e-12);
  EXPECT_GT(signed_area_nm2((*fill_simple(reversed))[0].outer), 0);
  EXPECT_LT(signed_area_nm2((*fill_simple(reversed))[0].holes[0]), 0);
}

// A pour whose cut-in goes on, through a hole, to an island within it.
TEST(GerberLoops, KeepAnIslandReachedThroughAHole) {
  const Contour contour = scaled({{0, 0},
                                  {10, 0},
                                  {10, 10},
                                  {0, 10},
                                  {0, 5},
                                  {2, 5},
                                  {4, 5},
                                  {4, 4},
                                  {6, 4},
                                  {6, 6},
                                  {4, 6},
                                  {4, 5},
                                  {2, 5},
                                  {2, 8},
                                  {8, 8},
                                  {8, 2},
                                  {2, 2},
                                  {2, 5},
                                  {0, 5}});
  const auto filled = fill_simple(contour);
  ASSERT_TRUE(filled.has_value());
  EXPECT_EQ(filled->size(), 2u);
  EXPECT_NEAR(area_mm2(*filled), 64 + 4, 1e-9);
}

TEST(GerberLoops, LeaveWhatCrossesOrTouchesToClipping) {
  EXPECT_FALSE(fill_simple(scaled({{0, 0}, {4, 4}, {4, 0}, {0, 4}})));
  EXPECT_FALSE(fill_simple(scaled({{0, 0}, {8, 0}, {8, 4}, {4, 0}, {0, 4}})));  // on an edge
  EXPECT_FALSE(fill_simple(scaled({{0, 0}, {4, 4}, {8, 0}, {8, 8}, {4, 4}, {0, 8}})));  // a corner
  EXPECT_FALSE(
      fill_simple(scaled({{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}, {4, 0}, {4, 4}, {0, 4}})));
  EXPECT_FALSE(fill_simple(scaled({{0, 0}, {8, 0}, {4, 0}, {4, 4}})));  // a spike
}

// Oracle: the general clipping, on contours that may or may not be simple.
TEST(GerberLoops, AgreeWithClipping) {
  std::mt19937 random(20240611);
  int simple = 0;
  for (int round = 0; round < 3000; ++round) {
    const std::size_t corners = 4 + random() % 5;
    Contour contour;
    for (std::size_t i = 0; i < corners; ++i) {
      contour.push_back({static_cast<std::int64_t>(random() % 8) * 1'000'000,
                         static_cast<std::int64_t>(random() % 8) * 1'000'000});
    }
    const auto filled = fill_simple(contour);
    if (!filled) continue;
    ++simple;
    EXPECT_NEAR(difference_mm2(*filled, fill(contour)), 0, 1e-6) << "round " << round;
  }
  EXPECT_GT(simple, 100);
}

}  // namespace
}  // namespace isthmus::formats::gerber
