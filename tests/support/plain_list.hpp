// SPDX-License-Identifier: Apache-2.0
// A list of possible faults for boards made by hand, without geometry.
#pragma once

#include "isthmus/expect/board.hpp"

namespace isthmus::test {

// Each group is a piece; its points are features in a row, each a place on every side it has, with
// a stretch to the next. A pair faces at its first points.
inline void list_plainly(expect::Board& board) {
  expect::FaultList list;
  expect::Wiring& w = list.wiring;
  const auto entry = [&](expect::FaultKind kind, std::uint32_t piece, std::uint32_t other) {
    expect::PossibleFault f;
    f.kind = kind;
    f.piece = piece;
    f.other = other;
    f.likelihood = 1;
    list.entries.push_back(std::move(f));
    return w.entries++;
  };
  const expect::Expectation& e = board.expectation;
  list.top_node.assign(e.points.size(), expect::Wiring::kNone);
  list.bottom_node = list.top_node;
  std::vector<std::uint32_t> first;
  for (std::uint32_t g = 0; g < e.groups.size(); ++g) {
    w.kin.push_back(g);
    list.islands_of_piece.emplace_back();
    list.groups_of_piece.push_back({GroupId{g}});
    first.push_back(static_cast<std::uint32_t>(w.nodes.size()));
    for (const PointId p : e.groups[g].points) {
      const auto node = static_cast<std::uint32_t>(w.nodes.size());
      w.nodes.push_back({g, true, true});
      if (node > first.back())
        w.edges.push_back({node - 1, node, entry(expect::FaultKind::stretch, g, g), false});
      list.place_of_node.push_back(e.point(p).at);
      list.island_of_node.emplace_back();
      list.points_of_node.push_back({p});
      if (e.point(p).side != Side::bottom) list.top_node[index(p)] = node;
      if (e.point(p).side != Side::top) list.bottom_node[index(p)] = node;
    }
  }
  for (const expect::Pair& p : e.pairs) {
    const auto a = static_cast<std::uint32_t>(p.a), b = static_cast<std::uint32_t>(p.b);
    w.facings.push_back({first[a], first[b], entry(expect::FaultKind::bridge, a, b)});
  }
  board.faults = std::move(list);
}

}  // namespace isthmus::test
