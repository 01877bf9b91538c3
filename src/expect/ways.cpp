// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <limits>
#include <queue>
#include <tuple>

#include "expect/breaks/piece_graph.hpp"

namespace isthmus::expect {
namespace {

constexpr std::size_t kNone = std::numeric_limits<std::size_t>::max();

// Edges of the way of least squares from any of `from` to any of `to`, and the node it starts at.
struct Shortest {
  std::size_t start{kNone};
  std::vector<std::size_t> edges;
};

Shortest shortest(const PieceGraph& piece, const std::vector<std::size_t>& from,
                  const std::vector<std::size_t>& to) {
  std::vector<double> cost(piece.size(), std::numeric_limits<double>::infinity());
  std::vector<std::size_t> by(piece.size(), kNone);
  using Entry = std::tuple<double, std::size_t>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> front;
  for (std::size_t n : from) cost[n] = 0, front.emplace(0, n);
  while (!front.empty()) {
    const auto [c, n] = front.top();
    front.pop();
    if (c > cost[n]) continue;
    if (std::find(to.begin(), to.end(), n) != to.end()) {
      Shortest way{n, {}};
      while (by[way.start] != kNone) {
        way.edges.push_back(by[way.start]);
        way.start = piece.edges[by[way.start]].other(way.start);
      }
      std::reverse(way.edges.begin(), way.edges.end());
      return way;
    }
    for (std::size_t e : piece.at_node[n]) {
      const std::size_t o = piece.edges[e].other(n);
      const double there = c + piece.edges[e].squares;
      if (there >= cost[o]) continue;
      cost[o] = there;
      by[o] = e;
      front.emplace(there, o);
    }
  }
  return {};
}

// No copper between: both lie on one pad, or in one hole.
Way within_one_place(const Board& board, PointId a, PointId b) {
  const Point &p = board.expectation.point(a), &q = board.expectation.point(b);
  const auto island =
      std::find_if(p.islands.begin(), p.islands.end(), [](const auto& i) { return i.has_value(); });
  return {static_cast<LayerId>(island - p.islands.begin()),
          {p.at, q.at},
          std::min(p.size, q.size),
          p.at};
}

}  // namespace

std::vector<Way> way_between(const Board& board, PointId a, PointId b) {
  const auto group = board.expectation.point(a).group;
  if (!group || board.expectation.point(b).group != group) return {};
  const PieceGraph piece(board, *group);
  const Shortest way =
      shortest(piece, piece.nodes_of({a, Side::both}), piece.nodes_of({b, Side::both}));
  std::vector<Way> ways;
  std::size_t at = way.start;
  bool fresh = true;
  for (std::size_t e : way.edges) {
    const PieceEdge& edge = piece.edges[e];
    const bool forwards = edge.a == at;
    at = edge.other(at);
    if (edge.kind != PieceEdge::Kind::copper) {
      fresh = true;
      continue;
    }
    const copper::Branch& branch = board.conductors.branches[edge.of];
    if (fresh) {
      const IslandId island = board.conductors.nodes[branch.a].island;
      ways.push_back({board.copper.island(island).layer, {}, branch.width, branch.narrowest});
      fresh = false;
    }
    Way& last = ways.back();
    std::vector<Position> path = branch.path;
    if (!forwards) std::reverse(path.begin(), path.end());
    for (Position p : path) {
      if (last.path.empty() || last.path.back() != p) last.path.push_back(p);
    }
    if (branch.width < last.narrowest)
      last.narrowest = branch.width, last.narrowest_at = branch.narrowest;
  }
  if (ways.empty() && way.start != kNone) ways.push_back(within_one_place(board, a, b));
  return ways;
}

}  // namespace isthmus::expect
