// SPDX-License-Identifier: Apache-2.0
// What must be touched and which pieces must meet so that every entry of the list is excluded on a
// good board, wherever the clips are.
#pragma once

#include <set>

#include "isthmus/plan/hand.hpp"

namespace isthmus::plan::hand {

struct Place {
  PointId point{};
  Side side{};
  std::uint32_t node{};
  std::uint32_t piece{};
  Position at;
  bool operator==(const Place&) const = default;
};

using PieceId = std::uint32_t;
// Two pieces that must not conduct, lower first.
using PiecePair = std::pair<PieceId, PieceId>;
inline PiecePair pair_of(PieceId a, PieceId b) { return {std::min(a, b), std::max(a, b)}; }

struct Demand {
  std::vector<Place> places;
  std::set<PiecePair> pairs;
};

// Every required point from one side, then what derive() still wants where all places of a piece
// are tied and all pairs met.
Demand demand_of(const expect::Board& board);

// Adds what would tell of the entries that these facts leave open; false where it asks for nothing
// that is not in the demand already.
bool add_asked(const expect::Board& board, const expect::Derived& derived, Demand& demand);

}  // namespace isthmus::plan::hand
