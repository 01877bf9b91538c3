// SPDX-License-Identifier: Apache-2.0
// What the landings of a round prove on a good board.
#pragma once

#include "isthmus/plan/hand_tips.hpp"

namespace isthmus::plan::hand {

// A needle's node: where this landing touches.
std::uint32_t node_of(const expect::Board& board, const Touch& touch);

// Adds the facts of the first `count` touches of the round. What conducts proves both its ends; an
// isolation counts only between two proofs of each end, by conducting, by the fork or by the
// adapter's contact check.
void add_facts(const expect::Board& board, const HandMeans& means, const Round& round,
               std::size_t count, expect::Facts& facts);

// Landings at which the needle conducts to nothing and nothing else tells that it is there.
std::size_t unnoticed(const expect::Board& board, const HandMeans& means, const Round& round);

}  // namespace isthmus::plan::hand
