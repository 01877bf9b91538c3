// SPDX-License-Identifier: Apache-2.0
// Where a piece can break is plain from the drawing; cuts are compared with brute force and with
// Boost.Graph.
#include <gtest/gtest.h>

#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/edmonds_karp_max_flow.hpp>
#include <queue>

#include "expect/breaks/cut.hpp"
#include "tests/expect/piece_board.hpp"

namespace isthmus::expect {
namespace {

using test::LittleBoard;
using test::mm_to_path;
using test::point;
using test::points;
using test::whole;

// A -- B along y = 0 and a branch up to C at x = 5.
LittleBoard star() {
  LittleBoard b;
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0).surface("N", "C", "1", 5, 6);
  b.track(0, 0, 0, 10, 0, 0.2).track(0, 5, 0, 5, 6, 0.4);
  return b;
}

// Top pad A, track to a hole at (10, 0), from there on the bottom to B.
LittleBoard two_sided() {
  LittleBoard b;
  b.stage(Stage::joined);
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 20, 0, 2).through("N", "J", "1", 10, 0);
  b.track(0, 0, 0, 10, 0, 0.2).track(1, 10, 0, 20, 0, 0.5);
  return b;
}

// A and B joined by two ways round a frame, one 0.2 mm, the other 0.5 mm wide.
LittleBoard frame() {
  LittleBoard b;
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0);
  b.track(0, 0, 0, 0, 5, 0.2).track(0, 0, 5, 10, 5, 0.2).track(0, 10, 5, 10, 0, 0.2);
  b.track(0, 0, 0, 10, 0, 0.5);
  return b;
}

TEST(Breaks, OneTrackIsOneStretch) {
  LittleBoard b;
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0).track(0, 0, 0, 10, 0, 0.2);
  const auto board = whole(std::move(b));
  const auto breaks = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1"}));
  ASSERT_EQ(breaks.size(), 1u);
  EXPECT_EQ(breaks[0].kind, Break::Kind::stretch);
  EXPECT_NEAR(to_mm(breaks[0].width), 0.2, 0.006);
  EXPECT_NEAR(breaks[0].weight, 9 / 0.2 + 1, 1.5);  // 9 mm of track, half a pad at each end
  for (double x = 0.5; x <= 9.5; x += 0.5)
    EXPECT_LE(mm_to_path(breaks[0].path, position_mm(x, 0)), 0.02) << x;
  EXPECT_LE(mm_to_path({breaks[0].at}, position_mm(5, 0)), 0.6);
}

TEST(Breaks, OnAStarOnlyTheArmThatPartsThemCounts) {
  const auto board = whole(star());
  const auto a = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1", "C.1"}));
  ASSERT_EQ(a.size(), 1u);
  EXPECT_LE(mm_to_path(a[0].path, position_mm(2.5, 0)), 0.02);
  EXPECT_GT(mm_to_path(a[0].path, position_mm(7.5, 0)), 2);
  const auto c = breaks_between(*board, points(*board, {"A.1", "B.1"}), points(*board, {"C.1"}));
  ASSERT_EQ(c.size(), 1u);
  EXPECT_NEAR(to_mm(c[0].width), 0.4, 0.006);
}

TEST(Breaks, APointInNeitherSetDoesNotMatterButEndsAStretch) {
  LittleBoard b = star();
  const auto board = whole(std::move(b));
  const auto breaks = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1"}));
  ASSERT_EQ(breaks.size(), 2u);  // on either side of the fork to C
  EXPECT_LT(std::min(breaks[0].at.x, breaks[1].at.x), from_mm(5).value);
  EXPECT_GT(std::max(breaks[0].at.x, breaks[1].at.x), from_mm(5).value);
}

TEST(Breaks, TheLikeliestPlaceIsTheNeck) {
  LittleBoard b;
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0);
  b.track(0, 0, 0, 7, 0, 0.4).track(0, 7, 0, 7.5, 0, 0.1).track(0, 7.5, 0, 10, 0, 0.4);
  const auto board = whole(std::move(b));
  const auto breaks = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1"}));
  ASSERT_EQ(breaks.size(), 1u);
  EXPECT_NEAR(to_mm(breaks[0].width), 0.1, 0.006);
  EXPECT_LE(mm_to_path({breaks[0].at}, position_mm(7.25, 0)), 0.3);
}

TEST(Breaks, AMissingWireIsTheLikeliest) {
  const auto board = whole(two_sided());
  const auto breaks = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1"}));
  ASSERT_EQ(breaks.size(), 3u);
  EXPECT_EQ(breaks[0].kind, Break::Kind::join);
  EXPECT_EQ(breaks[0].at, position_mm(10, 0));
  EXPECT_EQ(breaks[0].side, Side::both);
  EXPECT_EQ(board->expectation.joins[breaks[0].join].at, position_mm(10, 0));
  EXPECT_EQ(breaks[1].side, Side::top);
  EXPECT_EQ(breaks[2].side, Side::bottom);
  EXPECT_GT(breaks[1].weight, breaks[2].weight);
}

TEST(Breaks, AJoinTouchedOnTheSameSideIsNoCandidate) {
  const auto board = whole(two_sided());
  const Touch a{point(*board, "A.1"), Side::top};
  const auto same =
      breaks_between(*board, {a}, std::vector<Touch>{{point(*board, "J.1"), Side::top}});
  ASSERT_EQ(same.size(), 1u);
  EXPECT_EQ(same[0].kind, Break::Kind::stretch);
  const auto beyond =
      breaks_between(*board, {a}, std::vector<Touch>{{point(*board, "J.1"), Side::bottom}});
  ASSERT_EQ(beyond.size(), 2u);
  EXPECT_EQ(beyond[0].kind, Break::Kind::join);
}

TEST(Breaks, WhereALoopLeavesNoSingleCutTheMinimumCutIsNamed) {
  const auto board = whole(frame());
  const auto breaks = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1"}));
  ASSERT_EQ(breaks.size(), 2u);
  std::vector<double> widths{to_mm(breaks[0].width), to_mm(breaks[1].width)};
  std::sort(widths.begin(), widths.end());
  EXPECT_NEAR(widths[0], 0.2, 0.006);
  EXPECT_NEAR(widths[1], 0.5, 0.006);
  EXPECT_NEAR(breaks[0].weight, 19 / 0.2 / 2, 3);  // half of what the stretch alone would weigh
}

TEST(Breaks, AMissingLinkIsAStretchFromEndToEnd) {
  LittleBoard b;
  b.stage(Stage::joined);
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0);
  b.design.board.links.push_back({position_mm(0, 0), position_mm(10, 0), Side::top});
  const auto board = whole(std::move(b));
  const auto breaks = breaks_between(*board, points(*board, {"A.1"}), points(*board, {"B.1"}));
  ASSERT_EQ(breaks.size(), 1u);
  EXPECT_EQ(breaks[0].path, (std::vector<Position>{position_mm(0, 0), position_mm(10, 0)}));
  EXPECT_EQ(breaks[0].width, 0_nm);
}

TEST(Breaks, PointsOfTwoGroupsOrOfOnePlaceHaveNone) {
  LittleBoard b = star();
  b.surface("M", "D", "1", 20, 0);
  const auto board = whole(std::move(b));
  EXPECT_TRUE(breaks_between(*board, points(*board, {"A.1"}), points(*board, {"D.1"})).empty());
  EXPECT_TRUE(breaks_between(*board, points(*board, {"A.1"}), points(*board, {"A.1"})).empty());
  EXPECT_TRUE(breaks_between(*board, points(*board, {"A.1"}), std::vector<PointId>{}).empty());
}

TEST(Breaks, OfAGroupAreAllItsStretchesAndJoins) {
  const auto board = whole(star());
  EXPECT_EQ(breaks_of(*board, *board->expectation.points[0].group).size(), 3u);
  const auto joined = whole(two_sided());
  EXPECT_EQ(breaks_of(*joined, *joined->expectation.points[0].group).size(), 3u);
}

bool connected_without(const PieceGraph& g, std::size_t edge, std::size_t from, std::size_t to) {
  std::vector<bool> seen(g.size(), false);
  std::queue<std::size_t> front;
  front.push(from);
  seen[from] = true;
  while (!front.empty()) {
    const std::size_t n = front.front();
    front.pop();
    for (std::size_t e : g.at_node[n]) {
      const std::size_t o = g.edges[e].other(n);
      if (e == edge || seen[o]) continue;
      seen[o] = true;
      front.push(o);
    }
  }
  return seen[to];
}

std::int64_t max_flow_by_boost(const PieceGraph& g, std::size_t from, std::size_t to) {
  using Traits = boost::adjacency_list_traits<boost::vecS, boost::vecS, boost::directedS>;
  using Edge = Traits::edge_descriptor;
  using boost::property;
  using Graph = boost::adjacency_list<
      boost::vecS, boost::vecS, boost::directedS,
      property<boost::vertex_index_t, long,
               property<boost::vertex_color_t, boost::default_color_type,
                        property<boost::vertex_distance_t, long,
                                 property<boost::vertex_predecessor_t, Edge>>>>,
      property<boost::edge_capacity_t, std::int64_t,
               property<boost::edge_residual_capacity_t, std::int64_t,
                        property<boost::edge_reverse_t, Edge>>>>;
  Graph graph(g.size());
  for (const PieceEdge& e : g.edges) {
    const Edge there = boost::add_edge(e.a, e.b, graph).first,
               back = boost::add_edge(e.b, e.a, graph).first;
    put(boost::edge_capacity, graph, there, e.strength);
    put(boost::edge_capacity, graph, back, e.strength);
    put(boost::edge_reverse, graph, there, back);
    put(boost::edge_reverse, graph, back, there);
  }
  return boost::edmonds_karp_max_flow(graph, from, to);
}

// A grid of tracks with some left out: loops, dead ends and single ways.
LittleBoard lattice(unsigned seed) {
  LittleBoard b;
  const auto draw = [&seed](unsigned n) {  // a linear congruential generator, its upper bits
    seed = seed * 1664525u + 1013904223u;
    return (seed >> 20) % n;
  };
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 9, 9);
  for (int i = 0; i < 4; ++i) {
    for (int j = 0; j < 4; ++j) {
      const double w = 0.2 + 0.1 * draw(4);
      if (i < 3 && draw(4) != 0) b.track(0, 3 * i, 3 * j, 3 * i + 3, 3 * j, w);
      if (j < 3 && draw(4) != 0) b.track(0, 3 * i, 3 * j, 3 * i, 3 * j + 3, w);
    }
  }
  return b;
}

TEST(Cuts, AgreeWithBruteForceAndBoostOnLattices) {
  int whole_ones = 0, with_single_cut = 0, without = 0;
  for (unsigned seed = 1; seed <= 40; ++seed) {
    const auto board = whole(lattice(seed));
    const Point &a = board->expectation.points[0], &b = board->expectation.points[1];
    if (!a.group || a.group != b.group) continue;
    ++whole_ones;
    const PieceGraph g(*board, *a.group);
    const std::size_t from = g.nodes_of({PointId{0}, Side::both})[0],
                      to = g.nodes_of({PointId{1}, Side::both})[0];
    std::vector<std::size_t> single = separating_edges(g, {from}, {to}), brute;
    for (std::size_t e = 0; e < g.edges.size(); ++e) {
      if (!connected_without(g, e, from, to)) brute.push_back(e);
    }
    std::sort(single.begin(), single.end());
    EXPECT_EQ(single, brute) << seed;
    ++(single.empty() ? without : with_single_cut);
    std::int64_t strength = 0;
    for (std::size_t e : minimum_cut(g, {from}, {to})) strength += g.edges[e].strength;
    EXPECT_EQ(strength, max_flow_by_boost(g, from, to)) << seed;
  }
  EXPECT_GT(with_single_cut, 2);
  EXPECT_GT(without, 2);
  EXPECT_GT(whole_ones, 10);
}

}  // namespace
}  // namespace isthmus::expect
