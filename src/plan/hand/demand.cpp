// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/demand.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include "plan/sides.hpp"

namespace isthmus::plan::hand {
namespace {

using expect::Wiring;

std::optional<Place> place_of(const expect::Board& board, PointId id, Side side) {
  const std::uint32_t node = board.faults.node_of(id, side);
  if (node == Wiring::kNone) return std::nullopt;
  return Place{id, side, node, board.faults.wiring.nodes[node].piece,
               board.expectation.point(id).at};
}

void add_required(const expect::Board& board, Demand& demand) {
  const Side usual = usual_side(board);
  for (const expect::Group& group : board.expectation.groups) {
    const Side home = home_of(board, group, usual);
    for (const PointId id : group.points) {
      const expect::Point& p = board.expectation.point(id);
      if (!is_wanted(p)) continue;
      const Side side = p.side == Side::both ? home : p.side;
      auto place = place_of(board, id, side);
      if (!place && p.side == Side::both) place = place_of(board, id, other(side));
      if (place) demand.places.push_back(*place);
    }
  }
}

// As if all places of a piece were tied and all pairs met.
expect::Facts all_of(const Demand& demand) {
  expect::Facts facts;
  std::map<PieceId, std::uint32_t> first;
  for (const Place& p : demand.places) {
    const auto at = first.try_emplace(p.piece, p.node).first;
    facts.touched.push_back(p.node);
    facts.one_piece.push_back({at->second, p.node});
  }
  for (const auto& [a, b] : demand.pairs) {
    if (first.contains(a) && first.contains(b)) facts.two_pieces.push_back({first[a], first[b]});
  }
  return facts;
}

// Where a touch of this node is made: what somebody asks for anyway comes first, then what no
// waiver names.
std::optional<Place> place_on(const expect::Board& board, std::uint32_t node) {
  std::optional<Place> best;
  int best_rank = 3;
  for (const PointId id : board.faults.points_of_node[node]) {
    const expect::Point& p = board.expectation.point(id);
    const int rank = (p.waived ? 2 : 0) + (p.required ? 0 : 1);
    for (const Side side : {Side::top, Side::bottom}) {
      const auto place = place_of(board, id, side);
      if (!place || place->node != node || (best && rank >= best_rank)) continue;
      best = place;
      best_rank = rank;
    }
  }
  return best;
}

}  // namespace

bool add_asked(const expect::Board& board, const expect::Derived& derived, Demand& demand) {
  std::set<std::uint32_t> touched;
  for (const Place& p : demand.places) touched.insert(p.node);
  bool more = false;
  for (const expect::WouldTell& w : derived.would_tell) {
    if (w.p == Wiring::kNone || w.q == Wiring::kNone || board.faults.entries[w.entry].waived)
      continue;
    for (const std::uint32_t n : {w.p, w.q}) {
      if (touched.contains(n)) continue;
      const auto place = place_on(board, n);
      if (!place) continue;
      touched.insert(n);
      demand.places.push_back(*place);
      more = true;
    }
    const PieceId a = board.faults.wiring.nodes[w.p].piece;
    const PieceId b = board.faults.wiring.nodes[w.q].piece;
    if (a == b || board.faults.wiring.may_conduct(a, b)) continue;
    more |= demand.pairs.insert(pair_of(a, b)).second;
  }
  return more;
}

Demand demand_of(const expect::Board& board) {
  Demand demand;
  add_required(board, demand);
  while (add_asked(board, expect::derive(board.faults.wiring, all_of(demand)), demand)) {
  }
  return demand;
}

}  // namespace isthmus::plan::hand
