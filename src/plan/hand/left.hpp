// SPDX-License-Identifier: Apache-2.0
// What readings leave to be done.
#pragma once

#include "plan/hand/choose_clips.hpp"

namespace isthmus::plan::hand {

// Pairs that no fact parts, and places that hang on no other by facts. Of a piece that is tied in
// parts: the places outside its largest part, and, unless a clip of `clips` lies in that part, one
// within. A place that was under a clip (`held`) needs no touch of its own.
Needs needs_after(const expect::Board& board, const Demand& demand, const expect::Facts& facts,
                  const std::vector<HandClip>& clips, const std::set<PointId>& held);

// Of places under a clip: those that an entry asks for all the same, each with another of its piece.
std::vector<Place> asked_under_clips(const Demand& demand, const expect::Derived& derived);

}  // namespace isthmus::plan::hand
