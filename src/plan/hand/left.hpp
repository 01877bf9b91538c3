// SPDX-License-Identifier: Apache-2.0
// What readings leave to be done.
#pragma once

#include "plan/hand/choose_clips.hpp"

namespace isthmus::plan::hand {

// Pairs that no fact parts, and places that hang on no other by facts. Of a piece that is tied in
// parts: the places outside its largest part, and, unless a clip of `clips` lies in that part, one
// within.
Needs needs_after(const expect::Board& board, const Demand& demand, const expect::Facts& facts,
                  const std::vector<HandClip>& clips);

}  // namespace isthmus::plan::hand
