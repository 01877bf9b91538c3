// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/surface.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "hostsim/copper/holes.hpp"

namespace isthmus::hostsim {

std::vector<Node> CopperSurface::under(const Place& place, double radius_mm) const {
  const Grid& grid = board_.grid;
  const std::size_t layer = place.side == Side::bottom ? board_.layers.size() - 1 : 0;
  const double x = grid.cell_x(place.at.x), y = grid.cell_y(place.at.y);
  std::map<int, std::pair<double, Node>> nearest;  // by conductor
  for_cells_near(grid, {x, y, x, y}, radius_mm * 1e6 / grid.cell_nm, [&](int px, int py) {
    const Node n = board_.layers[layer].node_of[grid.index(px, py)];
    if (n < 0) return;
    const std::pair<double, Node> found{std::hypot(px + 0.5 - x, py + 0.5 - y), n};
    const auto [known, fresh] = nearest.try_emplace(board_.graph.network.conductor_of(n), found);
    if (!fresh) known->second = std::min(known->second, found);
  });
  if (nearest.empty()) {
    const auto node = touched_node(board_, layer, place.at);
    return node ? std::vector<Node>{*node} : std::vector<Node>{};
  }
  std::vector<std::pair<double, Node>> ranked;
  for (const auto& [conductor, found] : nearest) ranked.push_back(found);
  std::sort(ranked.begin(), ranked.end());
  std::vector<Node> nodes;
  for (const auto& [distance, node] : ranked) nodes.push_back(node);
  return nodes;
}

std::vector<Position> CopperSurface::pads(const Place& place, double within_mm) const {
  return names_.pads_near(place.at, place.side, within_mm);
}

}  // namespace isthmus::hostsim
