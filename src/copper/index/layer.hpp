// SPDX-License-Identifier: Apache-2.0
// All edges of the islands of one layer in one grid, each with its owner.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "copper/index/edges.hpp"
#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

// Where an edge belongs. Edges of one contour follow each other in the grid's list.
struct EdgeOwner {
  std::uint32_t island;   // place in Copper::islands
  std::uint32_t contour;  // counted through the layer; its edges are contours[contour]
};

struct LayerEdges {
  SegmentGrid grid;
  std::vector<EdgeOwner> owners;                                  // by segment of the grid
  std::vector<std::pair<std::uint32_t, std::uint32_t>> contours;  // first edge, one past the last
};

// Of islands[first] to islands[last - 1].
LayerEdges layer_edges(std::span<const Island> islands, std::size_t first, std::size_t last,
                       std::int64_t cell);

// Places in Copper::islands where each layer begins; one more than there are layers.
std::vector<std::size_t> layer_starts(const Copper& copper);

}  // namespace isthmus::copper
