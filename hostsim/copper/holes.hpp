// SPDX-License-Identifier: Apache-2.0
// Holes: what is drilled away and which of them conduct at the board's stage.
#pragma once

#include "hostsim/copper/board.hpp"

namespace isthmus::hostsim {

// All holes, with no-join defects applied. Error SIM-041: a no-join where no hole conducts.
Result<std::vector<BoardHole>> plan_holes(const Scenario& scenario, const formats::Design& design);

// Takes the copper out of every hole, on all layers.
void drill(CopperBoard& board);

// Metal in the holes that conduct: a node a layer, tied to the copper at the rim and to the next
// layer.
void add_barrels(CopperBoard& board, std::vector<Edge>& edges);

// The node a tip meets that comes down at a place from a layer's side: copper under it, else the
// metal or the rim of the hole it fell into.
std::optional<Node> touched_node(const CopperBoard& board, std::size_t layer, Position at);

}  // namespace isthmus::hostsim
