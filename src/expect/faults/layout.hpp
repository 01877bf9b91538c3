// SPDX-License-Identifier: Apache-2.0
// The copper of the board's stage as nodes and edges of a wiring: islands by their middle axis,
// pads drawn together, joins and links between.
#pragma once

#include "expect/faults/graph.hpp"
#include "isthmus/expect/board.hpp"

namespace isthmus::expect::faults {

struct Layout {
  enum class Kind { copper, foot, link };
  struct From {  // by edge
    Kind kind{};
    std::size_t of{};  // branch, join or link
  };
  std::vector<From> from;
  std::vector<Index> of_axis;  // node by node of the conductor graph; kNone: not at this stage
  std::vector<std::optional<Index>> of_join;  // node in the middle of a conducting join
  std::vector<bool> wide;                     // by node: a pour
  std::vector<bool> lone;  // by island: nothing but one conducting join and its ring
};

// Fills the wiring's nodes (no feature yet) and edges (no entry yet), kin and tied, and what of the
// list goes by node, piece and point.
Layout lay_wiring(const Board& board, FaultList& list);

// Marks what must stay on, by the points of the board.
void mark_features(const Board& board, const Layout& layout, FaultList& list);

// Entries of breaks: joins, links, stretches and parallel ways; then of facings.
void list_breaks(const Board& board, const Layout& layout, FaultList& list);
void list_bridges(const Board& board, const Layout& layout, FaultList& list);

// Sets `unless_bridged` of the breaks.
void mark_bridged_round(const Board& board, const Layout& layout, FaultList& list);

}  // namespace isthmus::expect::faults
