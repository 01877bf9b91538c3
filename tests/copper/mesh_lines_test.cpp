// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "copper/field/mesh/lines.hpp"
#include "copper/field/mesh/mesh.hpp"
#include "tests/copper/copper_shapes.hpp"

namespace isthmus::copper {
namespace {

using namespace test;

TEST(MeshLines, AreEvenWhereNothingAsksForMore) {
  const MeshLines lines = MeshLines::graded(-50, 1000, 100, {});
  EXPECT_EQ(lines.cells(), 11);
  for (std::int32_t k = 0; k < lines.cells(); ++k) EXPECT_DOUBLE_EQ(lines.width(k), 100);
  EXPECT_EQ(lines.cell_of(-51), -1);
  EXPECT_EQ(lines.cell_of(49), 0);
  EXPECT_EQ(lines.cell_of(51), 1);
  EXPECT_EQ(lines.cell_of(1e6), lines.cells());
}

TEST(MeshLines, CloseInOnEachFinePlaceAndGrowByAQuarterAway) {
  const std::array fine{FineLine{3000, 2}, FineLine{7000, 10}};
  const MeshLines lines = MeshLines::graded(0, 10'000, 100, fine);
  for (std::int32_t k = 0; k < lines.cells(); ++k) {
    const double width = lines.width(k);
    EXPECT_GT(width, 0);
    EXPECT_LE(width, 100);
    for (const FineLine& f : fine) {
      const double near = std::max({0.0, lines.line(k) - f.at, f.at - lines.line(k + 1)});
      EXPECT_LE(width, f.size + 0.25 * (near + width) + 1e-9);
    }
    if (k > 0) {
      EXPECT_LT(std::abs(std::log(width / lines.width(k - 1))), std::log(1.5)) << k;
    }
    EXPECT_EQ(lines.cell_of(lines.middle(k)), k);
  }
  EXPECT_LE(lines.width(lines.cell_of(3000)), 2.6);
  EXPECT_LE(lines.width(lines.cell_of(7000)), 13);
  EXPECT_GT(lines.line(lines.cells()), 10'000);
  EXPECT_LT(lines.cells(), 100 + 2 * 16 + 2 * 10);  // 4 ln(100 / 2) and 4 ln(100 / 10) a side
}

TEST(MeshLines, TheNarrowestIsThatOfTheCellsAskedFor) {
  const std::array fine{FineLine{3000, 2}};
  const MeshLines lines = MeshLines::graded(0, 10'000, 100, fine);
  EXPECT_LE(lines.narrowest(0, 10'000), 2.6);
  EXPECT_DOUBLE_EQ(lines.narrowest(9000, 20'000), 100);
}

// Divergence theorem: a potential that varies linearly along a strip of any angle leaves no current
// behind in any cell, on an uneven grid too.
TEST(GradedMesh, ALinearPotentialSolvesTheEquationsOfAStrip) {
  for (const double degrees : {0.0, 17.0, 45.0, 71.0}) {
    const Polygon strip = polygon(turned(rectangle(0, 0, 4, 0.2), degrees));
    const auto [tx, ty] = turned({{2, 0.13}}, degrees)[0];
    const std::array fine{FinePlace{position_mm(tx, ty), 900}};
    const Mesh mesh = mesh_of({strip}, 60'000, fine);
    const Mesh even = mesh_of({strip}, 60'000);
    ASSERT_GT(mesh.cells.size(), even.cells.size() + 200);
    const double a = degrees * std::numbers::pi / 180;
    const auto potential = [&](std::size_t k) {
      return (mesh.x(k) * std::cos(a) + mesh.y(k) * std::sin(a)) * 1e-6;
    };
    std::vector<double> left(mesh.cells.size());
    for (const MeshLink& l : mesh.links) {
      const double current = l.open / mesh.distance(l) * (potential(l.b) - potential(l.a));
      left[l.a] += current, left[l.b] -= current;
    }
    for (std::size_t k = 0; k < left.size(); ++k) {
      const double along = potential(k);
      if (along > 0.2 && along < 3.8) {  // mm: vertices are whole nm
        EXPECT_NEAR(left[k], 0, 2e-6) << degrees << " " << k;
      }
    }
  }
}

}  // namespace
}  // namespace isthmus::copper
