// SPDX-License-Identifier: Apache-2.0
#include "plan/colouring.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace isthmus::plan {
namespace {

using Graph = std::vector<std::vector<std::size_t>>;

void join(Graph& g, std::size_t a, std::size_t b) {
  g[a].push_back(b);
  g[b].push_back(a);
}

std::size_t count(const std::vector<std::size_t>& colours) {
  return colours.empty() ? 0 : *std::ranges::max_element(colours) + 1;
}

void expect_proper(const Graph& g, const std::vector<std::size_t>& colours) {
  for (std::size_t v = 0; v < g.size(); ++v) {
    for (std::size_t w : g[v]) EXPECT_NE(colours[v], colours[w]);
  }
}

TEST(Colouring, ACompleteGraphNeedsAsManyAsItHas) {
  Graph g(7);
  for (std::size_t a = 0; a < 7; ++a) {
    for (std::size_t b = a + 1; b < 7; ++b) join(g, a, b);
  }
  const auto colours = colour(g);
  expect_proper(g, colours);
  EXPECT_EQ(count(colours), 7u);
}

// Grid with both diagonals of every second cell left out is planar: four colours exist (four-colour
// theorem).
TEST(Colouring, TriangulatedGridsTakeAtMostFour) {
  constexpr std::size_t kSide = 15;
  Graph g(kSide * kSide);
  std::mt19937 random(5);
  for (std::size_t y = 0; y < kSide; ++y) {
    for (std::size_t x = 0; x < kSide; ++x) {
      const std::size_t v = y * kSide + x;
      if (x + 1 < kSide) join(g, v, v + 1);
      if (y + 1 < kSide) join(g, v, v + kSide);
      if (x + 1 < kSide && y + 1 < kSide) {
        if (random() % 2)
          join(g, v, v + kSide + 1);
        else
          join(g, v + 1, v + kSide);
      }
    }
  }
  const auto colours = colour(g);
  expect_proper(g, colours);
  EXPECT_LE(count(colours), 4u);
}

TEST(Colouring, RandomGraphsAreProper) {
  std::mt19937 random(9);
  for (int round = 0; round < 30; ++round) {
    Graph g(40);
    for (int e = 0; e < 120; ++e) {
      const std::size_t a = random() % 40, b = random() % 40;
      if (a != b && std::ranges::find(g[a], b) == g[a].end()) join(g, a, b);
    }
    expect_proper(g, colour(g));
  }
}

// ceil(log2 chi): Harary, Hsu & Miller 1977.
TEST(TestsFor, IsTheCeilingOfTheBinaryLogarithm) {
  EXPECT_EQ(tests_for(0), 0u);
  EXPECT_EQ(tests_for(1), 0u);
  EXPECT_EQ(tests_for(2), 1u);
  EXPECT_EQ(tests_for(4), 2u);
  EXPECT_EQ(tests_for(5), 3u);
  EXPECT_EQ(tests_for(8), 3u);
  EXPECT_EQ(tests_for(9), 4u);
}

}  // namespace
}  // namespace isthmus::plan
