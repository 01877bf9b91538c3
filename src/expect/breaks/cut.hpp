// SPDX-License-Identifier: Apache-2.0
// Edges whose loss parts two sets of nodes of a piece.
#pragma once

#include <vector>

#include "expect/breaks/piece_graph.hpp"

namespace isthmus::expect {

// Every edge each of which, alone, parts all of `from` from all of `to`; in order along the way.
// Empty when there is none, or the sets share a node.
std::vector<std::size_t> separating_edges(const PieceGraph& piece,
                                          const std::vector<std::size_t>& from,
                                          const std::vector<std::size_t>& to);

// Edges of least total strength that together part the sets, nearest to `from`; empty when the sets
// share a node.
std::vector<std::size_t> minimum_cut(const PieceGraph& piece, const std::vector<std::size_t>& from,
                                     const std::vector<std::size_t>& to);

}  // namespace isthmus::expect
