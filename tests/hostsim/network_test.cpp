// SPDX-License-Identifier: Apache-2.0
#include "hostsim/network/network.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace isthmus::hostsim {
namespace {

double resistance(Network& net, Node a, Node b) {
  const auto z = net.transfer(net.conductor_of(a), {a, b});
  return z[0] + z[3] - z[1] - z[2];
}

TEST(Network, AddsInSeriesAndInParallel) {
  Network net(4, {{0, 1, 1 / 2.0}, {1, 2, 1 / 3.0}, {1, 2, 1 / 6.0}, {2, 3, 1}});
  EXPECT_NEAR(resistance(net, 0, 3), 2 + 2 + 1, 1e-12);  // 3 || 6 = 2
  EXPECT_NEAR(resistance(net, 3, 0), 5, 1e-12);
}

// Balanced bridge: the middle resistor carries nothing.
TEST(Network, SolvesABalancedBridge) {
  Network net(
      4, {{0, 1, 1 / 1.0}, {0, 2, 1 / 2.0}, {1, 3, 1 / 3.0}, {2, 3, 1 / 6.0}, {1, 2, 1 / 7.0}});
  EXPECT_NEAR(resistance(net, 0, 3), 4.0 * 8.0 / 12.0, 1e-12);
}

TEST(Network, LabelsConductors) {
  Network net(5, {{0, 1, 1}, {3, 4, 1}});
  EXPECT_EQ(net.conductors(), 3);
  EXPECT_EQ(net.conductor_of(0), net.conductor_of(1));
  EXPECT_NE(net.conductor_of(1), net.conductor_of(3));
  EXPECT_EQ(net.members(net.conductor_of(4)), (std::vector<Node>{3, 4}));
}

// Cycle of n unit resistors, neighbours: (n - 1) / n.
TEST(Network, SolvesARing) {
  std::vector<Edge> ring;
  for (Node n = 0; n < 12; ++n) ring.push_back({n, (n + 1) % 12, 1});
  Network net(12, ring);
  EXPECT_NEAR(resistance(net, 3, 4), 11.0 / 12.0, 1e-12);
}

// Infinite square grid of unit resistors: 1/2 to a neighbour, then 2/pi, 2 - 4/pi, 4/pi - 1/2,
// 8/(3 pi) (a classical result; here a grid of 121 x 121 stands for the infinite one, hence 1e-3).
TEST(Network, ApproachesTheInfiniteGrid) {
  constexpr Node kSide = 121;
  std::vector<Edge> grid;
  for (Node y = 0; y < kSide; ++y) {
    for (Node x = 0; x < kSide; ++x) {
      if (x + 1 < kSide) grid.push_back({y * kSide + x, y * kSide + x + 1, 1});
      if (y + 1 < kSide) grid.push_back({y * kSide + x, (y + 1) * kSide + x, 1});
    }
  }
  Network net(kSide * kSide, grid);
  const Node centre = (kSide / 2) * kSide + kSide / 2;
  EXPECT_NEAR(resistance(net, centre, centre + 1), 0.5, 1e-3);
  EXPECT_NEAR(resistance(net, centre, centre + kSide + 1), 2 / M_PI, 1e-3);
  EXPECT_NEAR(resistance(net, centre, centre + 2), 2 - 4 / M_PI, 1e-3);
  EXPECT_NEAR(resistance(net, centre, centre + kSide + 2), 4 / M_PI - 0.5, 1e-3);
  EXPECT_NEAR(resistance(net, centre, centre + 2 * kSide + 2), 8 / (3 * M_PI), 1e-3);
}

}  // namespace
}  // namespace isthmus::hostsim
