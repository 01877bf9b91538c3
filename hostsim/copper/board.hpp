// SPDX-License-Identifier: Apache-2.0
// The board on the bench as copper: cells, nodes, holes and the network they make.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "hostsim/copper/mesh.hpp"
#include "hostsim/copper/raster.hpp"
#include "hostsim/scenario/laying.hpp"
#include "hostsim/scenario/scenario.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::hostsim {

// This board's own copper, drawn from the seed: position in shares of the board, -0.5..0.5.
struct CopperField {
  double thickness_nm{35000}, thickness_slope_x{0}, thickness_slope_y{0};
  double undercut_nm{0}, undercut_slope_x{0}, undercut_slope_y{0};
  double temperature_c{20};
  [[nodiscard]] double sheet_siemens(double u, double v) const;
  [[nodiscard]] double undercut_at(double u, double v) const;
};
CopperField draw_copper(const CopperDraw& draw, Nanometres thickness, std::uint64_t seed);

struct BoardHole {
  Position from, to;
  Nanometres diameter{};
  bool conducts{false};        // at this board's stage
  std::vector<bool> attached;  // per layer: its metal meets the copper there
  std::vector<Node> metal;     // per layer; -1: no metal, or not attached
};

struct CopperBoard {
  Grid grid;
  std::vector<LayerMesh> layers;  // by LayerId
  std::vector<MeshNode> nodes;    // mesh nodes of all layers, then metal in holes
  std::vector<BoardHole> holes;
  BoardGraph graph;
  std::vector<std::string> warnings;  // defects that change nothing
};

// Errors  SIM-040 a side the board lacks, SIM-041 no such hole, SIM-042 no copper near a leak or
// whisker,
//         SIM-043 no copper at all.
Result<CopperBoard> make_copper_board(const Scenario& scenario, const formats::Design& design);

// The copper node nearest to a place within `reach_nm`; nothing where there is none.
std::optional<Node> nearest_node(const CopperBoard& board, std::size_t layer, Position at,
                                 double reach_nm);

}  // namespace isthmus::hostsim
