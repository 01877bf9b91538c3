// SPDX-License-Identifier: Apache-2.0
// Islands as graphs of conductors: where current can flow, how wide, and where it would break.
#pragma once

#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

// A place on an island: the middle of a flash or region part, the end of a stroke, or where two objects meet.
struct Node {
  IslandId island{};
  Position at;
};

// Copper between two nodes of one island.
struct Branch {
  std::size_t a{}, b{};         // indices into nodes
  std::vector<Position> path;   // from a to b, at least two places unless a and b coincide
  Nanometres width{};           // narrowest
  Position narrowest;
  double squares{};             // length over width, at least 0
};

// The nodes of one island are connected through its branches; nodes of different islands never are.
struct ConductorGraph {
  std::vector<Node> nodes;                         // grouped by island, ascending
  std::vector<Branch> branches;
  std::vector<std::vector<std::size_t>> at_node;   // branch indices by node
  std::vector<std::pair<std::size_t, std::size_t>> of_island;  // node range [first, last) by island
};

// Built from the drawn objects: strokes become branches along their centre lines between the places where
// other copper meets them; flashes and region parts become hubs. What a clear object removes is gone.
ConductorGraph trace_conductors(const formats::Design& design, const Copper& copper);

// Nearest node of that island to `p` (squared distance, lowest index on ties).
std::size_t nearest_node(const ConductorGraph& graph, IslandId island, Position p);

}  // namespace isthmus::copper
