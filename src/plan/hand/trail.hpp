// SPDX-License-Identifier: Apache-2.0
// Two needles over copper that no clip holds.
#pragma once

#include <map>
#include <optional>

#include "plan/hand/demand.hpp"

namespace isthmus::plan::hand {

struct Leg {
  std::size_t needle{};
  Place place;
  bool other_stands{false};
};

// What the needles have to do between them: the places of each piece are tied to each other, and
// each pair meets.
struct TrailWork {
  std::map<PieceId, std::vector<Place>> places;  // at least one of each piece
  std::set<PiecePair> pairs;
  std::map<PieceId, std::vector<Place>> spare;  // others of the piece, for a second landing
  std::optional<Place> from;                    // where a needle is
};

// With a contact check: one needle stays while the other goes round all its neighbours, then they
// change parts; a landing for each pair and each further place, and one for each new start.
std::vector<Leg> walk_of_two(TrailWork work);

// The first needle is forked and proves itself; the second stays on a piece, proven by the first one
// before and after it went round the neighbours.
std::vector<Leg> walk_of_fork(TrailWork work);

// Neither proves itself: they prove each other on one piece, and no two pieces can meet.
std::vector<Leg> ties_of_two(TrailWork work);

}  // namespace isthmus::plan::hand
