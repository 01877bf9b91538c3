// SPDX-License-Identifier: Apache-2.0
// Where on the middle axis of its copper a place belongs.
#pragma once

#include "isthmus/copper/conductors.hpp"

namespace isthmus::expect {

// Whether the straight way between two places of an island stays on its copper.
bool sees(const copper::Island& island, Position from, Position to);

// The nearest node of the island that copper leads straight to; failing that, the nearest. Index
// into `graph.nodes`.
std::size_t nearest_in_sight(const copper::Copper& copper, const copper::ConductorGraph& graph,
                             IslandId island, Position p);

}  // namespace isthmus::expect
