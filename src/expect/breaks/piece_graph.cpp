// SPDX-License-Identifier: Apache-2.0
#include "expect/breaks/piece_graph.hpp"

#include <algorithm>
#include <limits>

#include "isthmus/base/ensure.hpp"

namespace isthmus::expect {
namespace {

constexpr double kFootSquares = 1;               // a short way through solder
constexpr std::int64_t kJointStrength = 50'000;  // nm: breaks more readily than any track
constexpr std::size_t kLooks = 12;               // nearest nodes tried for one in sight

bool sees(const copper::Island& island, Position from, Position to) {
  const Segment way{from, to};
  const Box box{{std::min(from.x, to.x), std::min(from.y, to.y)},
                {std::max(from.x, to.x), std::max(from.y, to.y)}};
  const auto blocked_by = [&](const Contour& c) {
    for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++) {
      if (std::max(c[i].x, c[j].x) < box.lo.x || std::min(c[i].x, c[j].x) > box.hi.x ||
          std::max(c[i].y, c[j].y) < box.lo.y || std::min(c[i].y, c[j].y) > box.hi.y) {
        continue;
      }
      if (crosses_or_touches(way, {c[j], c[i]})) return true;
    }
    return false;
  };
  for (std::size_t k = 0; k < island.pieces(); ++k) {
    if (blocked_by(island.piece(k).outer)) return false;
    for (const Contour& h : island.piece(k).holes) {
      if (blocked_by(h)) return false;
    }
  }
  return true;
}

}  // namespace

PieceGraph::PieceGraph(const Board& b, GroupId group) : board(b) {
  const copper::ConductorGraph& all = b.conductors;
  const std::vector<IslandId>& islands = b.expectation.group(group).islands;
  for (IslandId island : islands) {
    const auto [first, last] = all.of_island.at(index(island));
    first_of_.emplace_back(island, place.size());
    for (std::size_t n = first; n < last; ++n) place.push_back(all.nodes[n].at);
  }
  at_node.resize(place.size());
  for (const auto& [island, base] : first_of_) {
    const auto [first, last] = all.of_island[index(island)];
    for (std::size_t n = first; n < last; ++n) {
      for (std::size_t k : all.at_node[n]) {
        const copper::Branch& branch = all.branches[k];
        if (branch.a != n) continue;  // once
        add({PieceEdge::Kind::copper, base + branch.a - first, base + branch.b - first, k,
             branch.squares, std::max<std::int64_t>(branch.width.value, 1)});
      }
    }
  }
  const auto ours = [&](IslandId i) {
    return std::binary_search(islands.begin(), islands.end(), i);
  };
  for (std::size_t j = 0; j < b.expectation.joins.size(); ++j) {
    const Join& join = b.expectation.joins[j];
    if (!join.conducts || std::none_of(join.islands.begin(), join.islands.end(), ours)) continue;
    const std::size_t node = place.size();
    place.push_back(join.at);
    at_node.emplace_back();
    join_node_.emplace_back(j, node);
    for (IslandId i : join.islands) {
      if (!ours(i)) continue;
      add({PieceEdge::Kind::foot, node, nearest_in_sight(i, join.at), j, kFootSquares,
           kJointStrength});
    }
  }
  if (!joins_count(b.expectation.stage)) return;
  for (std::size_t l = 0; l < b.expectation.links.size(); ++l) {
    const Link& link = b.expectation.links[l];
    if (!ours(link.from) || !ours(link.to)) continue;
    add({PieceEdge::Kind::link, nearest_in_sight(link.from, link.from_at),
         nearest_in_sight(link.to, link.to_at), l, 2 * kFootSquares, kJointStrength});
  }
}

void PieceGraph::add(PieceEdge edge) {
  at_node[edge.a].push_back(edges.size());
  if (edge.b != edge.a) at_node[edge.b].push_back(edges.size());
  edges.push_back(edge);
}

// The nearest node that copper leads straight to; failing that, the nearest.
std::size_t PieceGraph::nearest_in_sight(IslandId island, Position p) const {
  const auto [first, last] = board.conductors.of_island.at(index(island));
  const auto base =
      std::lower_bound(first_of_.begin(), first_of_.end(), std::pair(island, std::size_t{0}));
  ENSURE(base != first_of_.end() && base->first == island && first < last);
  std::vector<std::pair<double, std::size_t>> near;
  for (std::size_t n = 0; n < last - first; ++n)
    near.emplace_back(distance_nm(place[base->second + n], p), n);
  const std::size_t looks = std::min(kLooks, near.size());
  std::partial_sort(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(looks), near.end());
  const copper::Island& copper = board.copper.island(island);
  for (std::size_t k = 0; k < looks; ++k) {
    const std::size_t node = base->second + near[k].second;
    if (sees(copper, p, place[node])) return node;
  }
  return base->second + near[0].second;
}

std::vector<std::size_t> PieceGraph::nodes_of(const Touch& touch) const {
  const Point& point = board.expectation.point(touch.point);
  if (touch.side == Side::both && point.join) {
    const auto found = std::lower_bound(join_node_.begin(), join_node_.end(),
                                        std::pair(*point.join, std::size_t{0}));
    if (found != join_node_.end() && found->first == *point.join) return {found->second};
  }
  std::vector<std::size_t> nodes;
  for (std::size_t layer = 0; layer < point.islands.size(); ++layer) {
    const auto island = point.islands[layer];
    if (!island) continue;
    if (touch.side == Side::top && layer != 0) continue;
    if (touch.side == Side::bottom && layer + 1 != board.copper.layers) continue;
    const auto base =
        std::lower_bound(first_of_.begin(), first_of_.end(), std::pair(*island, std::size_t{0}));
    if (base == first_of_.end() || base->first != *island) continue;
    nodes.push_back(nearest_in_sight(*island, point.at));
  }
  if (nodes.empty() && touch.side != Side::both) return nodes_of({touch.point, Side::both});
  return nodes;
}

}  // namespace isthmus::expect
