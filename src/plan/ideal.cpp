// SPDX-License-Identifier: Apache-2.0
#include "plan/ideal.hpp"

#include <algorithm>
#include <map>

namespace isthmus::plan {

std::vector<TouchedPiece> touched_pieces(const expect::Board& board, const Placement& placement,
                                         bool contact_check) {
  const expect::Wiring& wiring = board.faults.wiring;
  std::map<std::uint32_t, TouchedPiece> by_piece;
  for (std::size_t i = 0; i < placement.probes.size(); ++i) {
    const Probe& probe = placement.probes[i];
    const std::uint32_t node = expect::touched_node(board, probe.point, probe.side, probe.at);
    if (node == expect::Wiring::kNone) continue;
    TouchedPiece& t = by_piece[wiring.nodes[node].piece];
    t.piece = wiring.nodes[node].piece;
    t.probes.push_back(i);
    t.nodes.push_back(node);
  }
  std::vector<TouchedPiece> list;
  for (auto& [piece, t] : by_piece) {
    const bool proven =
        t.probes.size() > 1 || contact_check || placement.probes[t.probes.front()].twin.has_value();
    if (proven) list.push_back(std::move(t));
  }
  return list;
}

expect::Facts ideal_facts(const expect::Board& board, const std::vector<Placement>& placements,
                          bool contact_check) {
  expect::Facts facts;
  for (const Placement& placement : placements) {
    const auto pieces = touched_pieces(board, placement, contact_check);
    for (const TouchedPiece& t : pieces) {
      for (const std::uint32_t node : t.nodes) {
        facts.touched.push_back(node);
        facts.one_piece.push_back({t.nodes.front(), node});
      }
    }
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      for (std::size_t k = i + 1; k < pieces.size(); ++k) {
        if (!board.faults.wiring.may_conduct(pieces[i].piece, pieces[k].piece))
          facts.two_pieces.push_back({pieces[i].nodes.front(), pieces[k].nodes.front()});
      }
    }
  }
  return facts;
}

}  // namespace isthmus::plan
