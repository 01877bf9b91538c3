// SPDX-License-Identifier: Apache-2.0
// Places that become known one by one. Oracles: a ladder of resistors by hand, and Network, which
// reduces to all places at once.
#include "hostsim/network/solved.hpp"

#include <gtest/gtest.h>

#include "hostsim/random.hpp"

namespace isthmus::hostsim {
namespace {

double ohm_between(const std::vector<double>& z) { return z[0] + z[3] - z[1] - z[2]; }

// 1, 2, 3 ... ohm in a row.
std::vector<Edge> row(Node count) {
  std::vector<Edge> edges;
  for (Node n = 0; n + 1 < count; ++n) edges.push_back({n, n + 1, 1.0 / (n + 1)});
  return edges;
}

TEST(Solved, AddsResistorsInARow) {
  const Network network(6, row(6));
  Solved solved(network);
  EXPECT_NEAR(ohm_between(solved.transfer(0, {1, 4})), 2 + 3 + 4, 1e-12);
  EXPECT_NEAR(ohm_between(solved.transfer(0, {0, 5})), 1 + 2 + 3 + 4 + 5, 1e-12);
  EXPECT_NEAR(ohm_between(solved.transfer(0, {4, 1})), 2 + 3 + 4, 1e-12);
}

TEST(Solved, AgreesWithTheReductionToAllPlacesAtOnce) {
  Random random(7, "grid");
  constexpr Node kSide = 12;
  std::vector<Edge> edges;
  for (Node y = 0; y < kSide; ++y) {
    for (Node x = 0; x < kSide; ++x) {
      const Node n = y * kSide + x;
      if (x + 1 < kSide) edges.push_back({n, n + 1, random.between(0.1, 10)});
      if (y + 1 < kSide) edges.push_back({n, n + kSide, random.between(0.1, 10)});
    }
  }
  Network network(kSide * kSide, edges);
  Solved solved(network);
  for (Node a = 0; a < 20; ++a) {
    const Node b = 143 - 5 * a;
    EXPECT_NEAR(ohm_between(solved.transfer(0, {a, b})), ohm_between(network.transfer(0, {a, b})),
                1e-9);
  }
}

TEST(Solved, OfALoneNodeIsNothing) {
  const Network network(3, {{0, 1, 1.0}});
  Solved solved(network);
  EXPECT_EQ(solved.transfer(1, {2}), std::vector<double>{0.0});
}

}  // namespace
}  // namespace isthmus::hostsim
