// SPDX-License-Identifier: Apache-2.0
// Marks moved by a known map: what is found must be that map.
#include "isthmus/plan/placing.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

namespace isthmus::plan {
namespace {

using Marks = std::vector<std::array<Position, 2>>;

Position moved(Position p, double stretch_x, double stretch_y, double degrees, Position shift) {
  const double turn = degrees * std::numbers::pi / 180;
  const double x = static_cast<double>(p.x) * stretch_x, y = static_cast<double>(p.y) * stretch_y;
  return Position{std::llround(x * std::cos(turn) - y * std::sin(turn)),
                  std::llround(x * std::sin(turn) + y * std::cos(turn))} +
         shift;
}
Marks marks(const std::vector<Position>& at, double sx, double sy, double degrees, Position shift) {
  Marks out;
  for (const Position p : at) out.push_back({p, moved(p, sx, sy, degrees, shift)});
  return out;
}
const std::vector<Position> kCorners{position_mm(3, 3), position_mm(77, 3), position_mm(77, 52),
                                     position_mm(3, 52)};
const Position kShift = position_mm(0.4, -1.2);

TEST(Placing, WithoutMarksNothingMoves) {
  const auto p = placing_of({});
  ASSERT_TRUE(p.ok());
  EXPECT_FALSE(p->moved());
  EXPECT_EQ((*p)(position_mm(12.3, 4.5)), position_mm(12.3, 4.5));
}

TEST(Placing, OneMarkShifts) {
  const auto p = placing_of(marks({kCorners[1]}, 1, 1, 0, kShift));
  ASSERT_TRUE(p.ok());
  EXPECT_EQ((*p)(position_mm(10, 10)), position_mm(10.4, 8.8));
}

TEST(Placing, TwoMarksTurnAndScaleToo) {
  const auto p = placing_of(marks({kCorners[0], kCorners[2]}, 1.002, 1.002, 1.5, kShift));
  ASSERT_TRUE(p.ok());
  EXPECT_NEAR(p->turn() * 180 / std::numbers::pi, 1.5, 1e-4);
  EXPECT_NEAR(p->stretch_x(), 1.002, 1e-6);
  const Position at = position_mm(40, 20);
  EXPECT_LT(distance_nm((*p)(at), moved(at, 1.002, 1.002, 1.5, kShift)), 5);
}

TEST(Placing, FourMarksStretchEachAxisByItself) {
  const auto p = placing_of(marks(kCorners, 1.004, 0.997, -0.8, kShift));
  ASSERT_TRUE(p.ok());
  EXPECT_NEAR(p->stretch_x(), 1.004, 1e-6);
  EXPECT_NEAR(p->stretch_y(), 0.997, 1e-6);
  EXPECT_LT(p->worst_nm, 5);
  const Position at = position_mm(31, 47);
  EXPECT_LT(distance_nm((*p)(at), moved(at, 1.004, 0.997, -0.8, kShift)), 5);
}

// Nothing is known of the other axis then: one scale for both.
TEST(Placing, MarksInALineTurnAndScale) {
  const auto p = placing_of(marks({position_mm(0, 0), position_mm(40, 0.2), position_mm(80, 0)},
                                  0.995, 0.995, 2, kShift));
  ASSERT_TRUE(p.ok());
  EXPECT_NEAR(p->stretch_y(), 0.995, 1e-6);
  EXPECT_NEAR(p->turn() * 180 / std::numbers::pi, 2, 1e-4);
}

TEST(Placing, AMisreadMarkShowsInWhatIsLeft) {
  Marks all = marks(kCorners, 1, 1, 0, kShift);
  all[2][1].x += 400'000;
  const auto p = placing_of(all);
  ASSERT_TRUE(p.ok());
  // Least squares over a rectangle: each corner takes a quarter.
  EXPECT_NEAR(p->worst_nm, 100'000, 2);
}

TEST(Placing, WhatCannotBeIsRefused) {
  const auto code = [](const Marks& m) {
    const auto p = placing_of(m);
    return p.ok() ? std::string() : p.problem().code;
  };
  EXPECT_EQ(code({{kCorners[0], kCorners[0]}, {kCorners[0], kCorners[1]}}), "PLN-110");
  EXPECT_EQ(code(marks(kCorners, 1.06, 1, 0, {})), "PLN-110");
  EXPECT_EQ(code(marks({kCorners[0], kCorners[1]}, 0.94, 0.94, 0, {})), "PLN-110");
  EXPECT_EQ(code(marks(kCorners, -1, 1, 0, {})), "PLN-110") << "as read from below";
  Marks off = marks(kCorners, 1, 1, 0, {});
  off[1][1].y += 2'100'000;
  EXPECT_EQ(code(off), "PLN-110");
}

}  // namespace
}  // namespace isthmus::plan
