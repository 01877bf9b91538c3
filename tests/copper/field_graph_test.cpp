// SPDX-License-Identifier: Apache-2.0
// Pieces of copper tied by barrels and links are a graph of resistors. Small squares of copper,
// each wholly under the feet on it, and 1000 ohm between neighbours: the copper's own milliohms
// vanish beside that.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "isthmus/copper/field.hpp"
#include "tests/copper/copper_shapes.hpp"

namespace isthmus::copper {
namespace {

using namespace test;
using std::numbers::pi;

constexpr double kUnit = 1000;  // ohm

class Nodes {
 public:
  std::size_t add(double x, double y) {
    shapes_.push_back(polygon(rectangle(x - 0.2, y - 0.2, x + 0.2, y + 0.2)));
    at_.push_back(position_mm(x, y));
    return at_.size() - 1;
  }
  void tie(std::size_t a, std::size_t b) {
    barrels_.push_back({{foot(a), foot(b)}, Ohms{kUnit / 2}});
  }
  // In units of one resistor, for each pair.
  std::vector<double> between(const std::vector<std::pair<std::size_t, std::size_t>>& pairs) {
    const Copper copper = copper_of(shapes_);
    Field field(copper, barrels_, {});
    std::vector<double> out;
    for (const auto& [a, b] : pairs)
      out.push_back(field.between(electrode(a), electrode(b)).value().ohms.value / kUnit);
    return out;
  }

 private:
  static IslandId id(std::size_t n) { return IslandId{static_cast<std::uint32_t>(n)}; }
  Barrel::Foot foot(std::size_t n) const { return {id(n), at_[n], 1_mm}; }
  Electrode electrode(std::size_t n) const { return {id(n), at_[n], 1_mm}; }
  std::vector<Polygon> shapes_;
  std::vector<Position> at_;
  std::vector<Barrel> barrels_;
};

// Neighbours in a ring of n resistors: (n - 1) / n.
TEST(FieldGraph, ARingOfResistors) {
  Nodes ring;
  for (int i = 0; i < 12; ++i) ring.add(5 * std::cos(pi * i / 6), 5 * std::sin(pi * i / 6));
  for (std::size_t i = 0; i < 12; ++i) ring.tie(i, (i + 1) % 12);
  const auto r = ring.between({{3, 4}, {0, 6}});
  EXPECT_NEAR(r[0], 11.0 / 12, 1e-4);
  EXPECT_NEAR(r[1], 3, 1e-4);
}

// The infinite square grid of unit resistors: R(1,0) = 1/2, R(1,1) = 2/pi, R(2,0) = 2 - 4/pi,
// R(2,1) = 4/pi - 1/2, R(2,2) = 8/(3 pi) (a classical result). 61 x 61 nodes stand for it.
TEST(FieldGraph, TheSquareGridOfResistors) {
  constexpr std::size_t kSide = 61;
  Nodes grid;
  for (std::size_t y = 0; y < kSide; ++y)
    for (std::size_t x = 0; x < kSide; ++x)
      grid.add(static_cast<double>(x), static_cast<double>(y));
  for (std::size_t y = 0; y < kSide; ++y) {
    for (std::size_t x = 0; x < kSide; ++x) {
      const std::size_t n = y * kSide + x;
      if (x + 1 < kSide) grid.tie(n, n + 1);
      if (y + 1 < kSide) grid.tie(n, n + kSide);
    }
  }
  const std::size_t c = kSide / 2 * kSide + kSide / 2;
  const auto r = grid.between(
      {{c, c + 1}, {c, c + kSide + 1}, {c, c + 2}, {c, c + kSide + 2}, {c, c + 2 * kSide + 2}});
  EXPECT_NEAR(r[0] / 0.5, 1, 0.002);
  EXPECT_NEAR(r[1] / (2 / pi), 1, 0.002);
  EXPECT_NEAR(r[2] / (2 - 4 / pi), 1, 0.002);
  EXPECT_NEAR(r[3] / (4 / pi - 0.5), 1, 0.002);
  EXPECT_NEAR(r[4] / (8 / (3 * pi)), 1, 0.002);
}

}  // namespace
}  // namespace isthmus::copper
