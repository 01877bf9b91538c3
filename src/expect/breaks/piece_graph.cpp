// SPDX-License-Identifier: Apache-2.0
#include "expect/breaks/piece_graph.hpp"

#include <algorithm>
#include <limits>

#include "expect/sight.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus::expect {
namespace {

constexpr double kFootSquares = 1;               // a short way through solder
constexpr std::int64_t kJointStrength = 50'000;  // nm: breaks more readily than any track

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

std::size_t PieceGraph::nearest_in_sight(IslandId island, Position p) const {
  const auto base =
      std::lower_bound(first_of_.begin(), first_of_.end(), std::pair(island, std::size_t{0}));
  ENSURE(base != first_of_.end() && base->first == island);
  const std::size_t node = expect::nearest_in_sight(board.copper, board.conductors, island, p);
  return base->second + node - board.conductors.of_island.at(index(island)).first;
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
