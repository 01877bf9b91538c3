// SPDX-License-Identifier: Apache-2.0
// From cells of copper to nodes and conductances. Each piece of copper has squares of its own size,
// the finer the smaller the piece; a node is a connected part of a piece within one square.
#pragma once

#include <functional>
#include <map>
#include <vector>

#include "hostsim/copper/raster.hpp"
#include "hostsim/network/network.hpp"

namespace isthmus::hostsim {

struct MeshNode {
  float x{}, y{};       // centre of its square, in cells
  float size{};         // side of its square, in cells
  float resistance{1};  // times that of whole copper (necks)
  int cells{};          // copper in it
};

// Everything of one layer the bench needs after the mesh is made.
struct LayerMesh {
  Cells copper;                              // 1 copper
  std::map<std::size_t, double> resistance;  // cells of necks: times that of whole copper
  std::vector<Node> node_of;                 // per cell; -1 none
};

// Numbers the nodes of one layer from nodes.size() on.
void add_nodes(const Grid& grid, LayerMesh& layer, std::vector<MeshNode>& nodes);

// Conductances between the nodes of one layer: for each face between two cells of different nodes
// sheet / (half the sum of their sizes). `sheet_siemens(x, y)`: reciprocal sheet resistance at a
// place. Exact for tracks along the axes; tracks that slope come out up to a few per cent high.
void add_edges(const Grid& grid, const LayerMesh& layer, const std::vector<MeshNode>& nodes,
               const std::function<double(double, double)>& sheet_siemens,
               std::vector<Edge>& edges);

}  // namespace isthmus::hostsim
