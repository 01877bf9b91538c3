// SPDX-License-Identifier: Apache-2.0
// Which pieces are known to be two, and which facings that excludes.
#pragma once

#include <set>

#include "expect/faults/graph.hpp"

namespace isthmus::expect::faults {

// Two-pieces facts between sets of touched nodes, and what contradicts them.
struct Apart {
  std::set<std::pair<Index, Index>> sets;  // of components, lower first
  std::vector<Facts::Two> contradictions;
  std::vector<bool> doubtful;  // by piece: a contradiction concerns it
  std::vector<bool> merged;    // by piece: conducts to one that it must not conduct to
  [[nodiscard]] bool known(Index a, Index b) const {
    return sets.contains({std::min(a, b), std::max(a, b)});
  }
};
Apart hold_apart(const Wiring& wiring, const Graph& graph, const Joined& joined,
                 const Facts& facts);

// Components of the touched nodes of each piece, ascending.
std::vector<std::vector<Index>> components_of_pieces(const Joined& joined);

// What the facts say of each facing: by index into Wiring::facings.
struct FacingStates {
  // What would tell: two touched nodes to be read to each other; kNone where the piece has none.
  struct Tell {
    Index piece_a{kNone}, piece_b{kNone};
    Index node_a{kNone}, node_b{kNone};
    [[nodiscard]] bool any() const { return piece_a != kNone; }
  };
  std::vector<FaultState> state;
  std::vector<Tell> tells;
};
FacingStates judge_facings(const Wiring& wiring, const Graph& graph, const Joined& joined,
                           const Apart& apart);

}  // namespace isthmus::expect::faults
