// SPDX-License-Identifier: Apache-2.0
// Expected widths and lengths are those of the drawn shapes.
#include "isthmus/copper/conductors.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>

#include "tests/copper/copper_shapes.hpp"

namespace isthmus::copper {
namespace {

using namespace test;

ConductorGraph trace(const Copper& copper) { return trace_conductors({}, copper); }

std::size_t pieces_of(const ConductorGraph& g, std::size_t first, std::size_t last) {
  std::vector<std::size_t> parent(g.nodes.size());
  std::iota(parent.begin(), parent.end(), 0u);
  const auto root = [&](std::size_t i) {
    while (parent[i] != i) i = parent[i];
    return i;
  };
  for (const Branch& b : g.branches) parent[root(b.a)] = root(b.b);
  std::size_t roots = 0;
  for (std::size_t i = first; i < last; ++i) roots += root(i) == i;
  return roots;
}

std::size_t loops_of(const ConductorGraph& g) {
  return g.branches.size() + pieces_of(g, 0, g.nodes.size()) - g.nodes.size();
}

double length_mm(const ConductorGraph& g) {
  double sum = 0;
  for (const Branch& b : g.branches) {
    for (std::size_t i = 1; i < b.path.size(); ++i) sum += distance_nm(b.path[i - 1], b.path[i]);
  }
  return sum * 1e-6;
}

// Two round pads of 1 mm, 10 mm apart, joined by a 0.2 mm track that necks down to 0.08 mm at x
// = 6.
Polygon pads_and_necked_track() {
  Mm m;
  for (int i = -162; i <= 162; ++i) {  // left pad but for the mouth of the track
    const double a = std::numbers::pi * (180.0 + i) / 180;
    m.emplace_back(0.5 * std::cos(-a + std::numbers::pi * 2),
                   0.5 * std::sin(-a + 2 * std::numbers::pi));
  }
  std::reverse(m.begin(), m.end());
  for (auto [x, y] : Mm{{5.5, -0.1}, {5.9, -0.04}, {6.1, -0.04}, {6.5, -0.1}}) m.emplace_back(x, y);
  for (int i = -162; i <= 162; ++i) {
    const double a = std::numbers::pi * i / 180;
    m.emplace_back(10 + 0.5 * std::cos(a), 0.5 * std::sin(a));
  }
  for (auto [x, y] : Mm{{6.5, 0.1}, {6.1, 0.04}, {5.9, 0.04}, {5.5, 0.1}}) m.emplace_back(x, y);
  return polygon(m);
}

TEST(Conductors, AStripIsALineAlongItsMiddle) {
  const ConductorGraph g = trace(copper_of({polygon(rectangle(0, 0, 10, 0.2))}));
  EXPECT_EQ(loops_of(g), 0u);
  for (const Branch& b : g.branches) {
    EXPECT_NEAR(to_mm(b.width), 0.2, 0.01);
    for (Position p : b.path) EXPECT_NEAR(to_mm(p.y), 0.1, 0.005);
  }
  EXPECT_NEAR(length_mm(g), 9.8, 0.02);
}

TEST(Conductors, SquaresOfAStripAreLengthOverWidth) {
  const ConductorGraph g = trace(copper_of({polygon(turned(rectangle(0, 0, 10, 0.2), 30))}));
  double squares = 0;
  for (const Branch& b : g.branches) squares += b.squares;
  EXPECT_NEAR(squares, 49, 1);
}

// Oracle: the same question without the order by x, which looks at every node.
TEST(Conductors, TheNearestNodeIsTheNearestOfAll) {
  const ConductorGraph g =
      trace(copper_of({pads_and_necked_track(), polygon(turned(rectangle(12, 3, 9, 4), 30)),
                       polygon(rectangle(0, 8, 6, 6))}));
  ConductorGraph plain = g;
  plain.by_x.clear();
  ASSERT_EQ(g.of_island.size(), 3u);
  std::mt19937_64 random{3};
  const auto mm = [&] { return static_cast<double>(random() % 400) * 0.1 - 10; };
  for (int k = 0; k < 3000; ++k) {
    const Position p = position_mm(mm(), mm());
    for (std::uint32_t i = 0; i < 3; ++i)
      ASSERT_EQ(nearest_node(g, IslandId{i}, p), nearest_node(plain, IslandId{i}, p)) << k;
  }
  for (const Node& n : g.nodes)
    EXPECT_EQ(nearest_node(g, n.island, n.at), nearest_node(plain, n.island, n.at));
}

TEST(Conductors, APlaceIsNeverFarFromANode) {
  const ConductorGraph g = trace(copper_of({polygon(rectangle(0, 0, 10, 0.2))}));
  for (double x = 0.1; x < 9.9; x += 0.1) {
    const Position p = position_mm(x, 0.1);
    EXPECT_LE(distance_nm(g.nodes[nearest_node(g, IslandId{0}, p)].at, p), 260'000) << x;
  }
}

TEST(Conductors, TheNarrowestPlaceIsTheNeck) {
  const ConductorGraph g = trace(copper_of({pads_and_necked_track()}));
  const Branch& b =
      *std::min_element(g.branches.begin(), g.branches.end(),
                        [](const Branch& l, const Branch& r) { return l.width < r.width; });
  EXPECT_NEAR(to_mm(b.width), 0.08, 0.008);
  EXPECT_NEAR(to_mm(b.narrowest.x), 6.0, 0.12);
  EXPECT_NEAR(to_mm(b.narrowest.y), 0.0, 0.01);
}

TEST(Conductors, APadHasANodeAtItsCentre) {
  const ConductorGraph g = trace(copper_of({pads_and_necked_track()}));
  for (Position p : {position_mm(0, 0), position_mm(10, 0)}) {
    EXPECT_LE(distance_nm(g.nodes[nearest_node(g, IslandId{0}, p)].at, p), 30'000);
  }
}

TEST(Conductors, AFrameIsOneLoopAndALadderTwo) {
  const Mm outer = rectangle(0, 0, 10, 5);
  EXPECT_EQ(loops_of(trace(copper_of({polygon(outer, {rectangle(1, 1, 9, 4)})}))), 1u);
  EXPECT_EQ(
      loops_of(trace(copper_of({polygon(outer, {rectangle(1, 1, 4, 4), rectangle(5, 1, 9, 4)})}))),
      2u);
}

TEST(Conductors, ARingWithoutJunctionsIsStillALoop) {
  const ConductorGraph g = trace(copper_of({polygon(circle(0, 0, 3), {circle(0, 0, 2)})}));
  EXPECT_EQ(loops_of(g), 1u);
  EXPECT_EQ(pieces_of(g, 0, g.nodes.size()), 1u);
}

TEST(Conductors, NodesOfOneIslandHangTogetherAndOfTwoNever) {
  const Copper copper =
      copper_of({pads_and_necked_track(), polygon(rectangle(0, 2, 10, 8), {circle(3, 5, 1)}),
                 polygon(circle(3, 5, 0.7)), polygon(rectangle(20, 0, 20.02, 5))});
  const ConductorGraph g = trace(copper);
  ASSERT_EQ(g.of_island.size(), 4u);
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_EQ(pieces_of(g, g.of_island[i].first, g.of_island[i].second), 1u) << i;
    for (std::size_t n = g.of_island[i].first; n < g.of_island[i].second; ++n) {
      EXPECT_EQ(index(g.nodes[n].island), i);
    }
  }
  for (const Branch& b : g.branches) EXPECT_EQ(g.nodes[b.a].island, g.nodes[b.b].island);
}

TEST(Conductors, CopperThatOnlyJustHoldsIsTiedByAThread) {
  // Two squares that share 1 um of an edge's length.
  const ConductorGraph g = trace(copper_of(
      {polygon({{0, 0}, {2, 0}, {2, 1.999}, {4, 1.999}, {4, 4}, {1.999, 4}, {1.999, 2}, {0, 2}})}));
  EXPECT_EQ(pieces_of(g, 0, g.nodes.size()), 1u);
  const Branch& b =
      *std::min_element(g.branches.begin(), g.branches.end(),
                        [](const Branch& l, const Branch& r) { return l.width < r.width; });
  EXPECT_LE(b.width, 10_um);
  EXPECT_LE(distance_nm(b.narrowest, position_mm(2, 2)), 20'000);
}

TEST(Conductors, AFilletOrChamferIsNoWay) {
  const ConductorGraph g =
      trace(copper_of({polygon({{0, 0}, {3, 0}, {3, 0.7}, {2.7, 1}, {0, 1}})}));
  for (std::size_t n = 0; n < g.nodes.size(); ++n) EXPECT_LE(g.at_node[n].size(), 2u);
}

TEST(Conductors, TurningTheBoardTurnsTheGraph) {
  const Mm tee = {{0, 0}, {10, 0}, {10, 0.4}, {5.2, 0.4}, {5.2, 5}, {4.8, 5}, {4.8, 0.4}, {0, 0.4}};
  const ConductorGraph g = trace(copper_of({polygon(tee)}));
  const ConductorGraph t = trace(copper_of({polygon(turned(tee, 90))}));
  EXPECT_EQ(g.nodes.size(), t.nodes.size());
  EXPECT_EQ(g.branches.size(), t.branches.size());
  EXPECT_NEAR(length_mm(g), length_mm(t), 0.01);
}

}  // namespace
}  // namespace isthmus::copper
