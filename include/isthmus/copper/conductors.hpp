// SPDX-License-Identifier: Apache-2.0
// Islands as graphs of conductors: where current can flow, how wide, and where it would break.
#pragma once

#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

// A place on the middle axis of an island: a fork, an end, or a place on the way (no place of the
// axis is more than 0.25 mm from a node along it).
struct Node {
  IslandId island{};
  Position at;
  Nanometres width{};  // across the largest circle of copper round it
};

// Copper between two nodes of one island.
struct Branch {
  std::size_t a{}, b{};        // indices into nodes
  std::vector<Position> path;  // from a to b, at least two places unless a and b coincide
  Nanometres width{};          // narrowest
  Position narrowest;
  double squares{};  // length over width, at least 0
};

// The nodes of one island are connected through its branches; nodes of different islands never are.
struct ConductorGraph {
  std::vector<Node> nodes;  // grouped by island, ascending
  std::vector<Branch> branches;
  std::vector<std::vector<std::size_t>> at_node;               // branch indices by node
  std::vector<std::pair<std::size_t, std::size_t>> of_island;  // node range [first, last) by island
  // The same ranges ascending by x, then number: for nearest_node. Empty: it looks at all nodes.
  std::vector<std::size_t> by_x;
};

// The middle axis of each outline: strokes give their own centre lines, painted areas and pours the
// ridge between their edges and clearances. Corners and chamfers give no branch. Where copper holds
// together by less than about 10 um, a branch of that width stands for it.
//
// Shape   nodes by island; at least one an island; no place of the axis is more than 0.25 mm from
//         one along it.
// Units   Nanometres; widths to 6 um.
ConductorGraph trace_conductors(const formats::Design& design, const Copper& copper);

// Nearest node of that island to `p` (distance in doubles, lowest index on ties).
//
// Cost    of the nodes in a strip of the board as wide as twice the distance.
std::size_t nearest_node(const ConductorGraph& graph, IslandId island, Position p);

}  // namespace isthmus::copper
