// SPDX-License-Identifier: Apache-2.0
// What readings of a good board would prove, from the placements alone.
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Facts of a good board: in each placement the probes of one piece conduct to each other, those of
// pieces that must not conduct do not. A lone tip that nothing proves to touch gives none.
//
// Shape   nodes of board.faults.wiring.
expect::Facts ideal_facts(const expect::Board& board, const std::vector<Placement>& placements,
                          bool contact_check);

// Probes of one placement that can be proven to touch: indices into `probes` with their nodes, by
// piece, ascending.
struct TouchedPiece {
  std::uint32_t piece{};
  std::vector<std::size_t> probes;
  std::vector<std::uint32_t> nodes;
};
std::vector<TouchedPiece> touched_pieces(const expect::Board& board, const Placement& placement,
                                         bool contact_check);

}  // namespace isthmus::plan
