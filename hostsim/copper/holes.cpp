// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/holes.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "hostsim/copper/defects.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kBarrelOhm = 5e-4;   // from one copper layer to the next
constexpr double kRimOhm = 5e-5;      // solder or plating from the metal to all of the rim
constexpr double kTipReachNm = 50e3;  // a tip's apex still meets copper this far from its axis
constexpr double kMatchNm = 100e3;    // a place written for a hole may lie this far outside it

double distance_to_hole(const BoardHole& h, Position at) {
  const CellSegment s{static_cast<double>(h.from.x), static_cast<double>(h.from.y),
                      static_cast<double>(h.to.x), static_cast<double>(h.to.y)};
  return distance_to(s, static_cast<double>(at.x), static_cast<double>(at.y));
}

double radius_nm(const BoardHole& h) { return static_cast<double>(h.diameter.value) / 2; }

bool is_listed(const formats::BoardFile& board, const BoardHole& hole) {
  return std::any_of(board.joins.begin(), board.joins.end(), [&](const formats::JoinEntry& j) {
    return !j.deferred && distance_to_hole(hole, j.at) <= std::max(radius_nm(hole), kMatchNm / 2);
  });
}

bool conducts(const formats::BoardFile& board, const formats::Hole& drilled,
              const BoardHole& hole) {
  if (!joins_count(board.stage)) return false;
  switch (board.joins_mode) {
    case formats::JoinsMode::none:
      return false;
    case formats::JoinsMode::all:  // a hole said to be unplated is for tooling; list it to join it
      return drilled.plated.value_or(true);
    case formats::JoinsMode::plated:
      return drilled.plated.value_or(false);
    case formats::JoinsMode::listed:
      return is_listed(board, hole);
  }
  return false;
}

// The conducting hole a no-join means: the nearest, if the place is on it.
BoardHole* hole_at(std::vector<BoardHole>& holes, Position at) {
  BoardHole* best = nullptr;
  double distance = 1e30;
  for (BoardHole& h : holes) {
    const double d = distance_to_hole(h, at);
    if (h.conducts && d <= radius_nm(h) + kMatchNm && d < distance) {
      distance = d;
      best = &h;
    }
  }
  return best;
}

CellSegment axis_of(const Grid& grid, const BoardHole& h) {
  return {grid.cell_x(h.from.x), grid.cell_y(h.from.y), grid.cell_x(h.to.x), grid.cell_y(h.to.y)};
}

}  // namespace

Result<std::vector<BoardHole>> plan_holes(const Scenario& scenario, const formats::Design& design) {
  const std::size_t layers = design.copper.size();
  std::vector<BoardHole> holes;
  for (const formats::Hole& drilled : design.holes) {
    BoardHole h{drilled.from, drilled.to, drilled.diameter, false, {}, {}};
    h.conducts = conducts(design.board, drilled, h);
    h.attached.assign(layers, true);
    h.metal.assign(layers, -1);
    for (std::size_t l = 0; drilled.span && l < layers; ++l) {
      const int number = static_cast<int>(l) + 1;
      h.attached[l] = number >= drilled.span->first && number <= drilled.span->second;
    }
    holes.push_back(std::move(h));
  }
  for (const Defect& d : scenario.defects) {
    if (d.kind != DefectKind::no_join) continue;
    BoardHole* hole = hole_at(holes, d.at);
    if (hole == nullptr) {
      return Problem{scenario.path.string(),
                     d.line,
                     d.column,
                     "SIM-041",
                     "no hole conducts there at this board's stage",
                     "check the place, and stage and joins of the board",
                     ""};
    }
    const auto layer = layer_of(d, layers);
    if (!d.side) {
      hole->conducts = false;
    } else if (layer) {
      hole->attached[*layer] = false;
    }
  }
  return holes;
}

void drill(CopperBoard& board) {
  for (const BoardHole& h : board.holes) {
    const double radius = radius_nm(h) / board.grid.cell_nm;
    for_cells_near(board.grid, axis_of(board.grid, h), radius, [&](int x, int y) {
      for (LayerMesh& layer : board.layers) layer.copper[board.grid.index(x, y)] = 0;
    });
  }
}

void add_barrels(CopperBoard& board, std::vector<Edge>& edges) {
  for (BoardHole& h : board.holes) {
    if (!h.conducts) continue;
    Node above = -1;
    for (std::size_t l = 0; l < board.layers.size(); ++l) {
      if (!h.attached[l]) continue;
      std::set<Node> rim;
      for_cells_near(board.grid, axis_of(board.grid, h), radius_nm(h) / board.grid.cell_nm + 1.5,
                     [&](int x, int y) {
                       const Node n = board.layers[l].node_of[board.grid.index(x, y)];
                       if (n >= 0) rim.insert(n);
                     });
      if (rim.empty()) continue;
      const auto metal = static_cast<Node>(board.nodes.size());
      board.nodes.push_back({});
      h.metal[l] = metal;
      const double share = 1 / kRimOhm / static_cast<double>(rim.size());
      for (const Node n : rim) edges.push_back({metal, n, share});
      if (above >= 0) edges.push_back({above, metal, 1 / kBarrelOhm});
      above = metal;
    }
  }
}

std::optional<Node> touched_node(const CopperBoard& board, std::size_t layer, Position at) {
  if (auto direct = nearest_node(board, layer, at, kTipReachNm)) return direct;
  for (const BoardHole& h : board.holes) {
    const double reach = radius_nm(h) + kTipReachNm;
    if (distance_to_hole(h, at) > reach) continue;
    if (h.conducts && h.attached[layer]) {
      for (const Node metal : {h.metal[layer], *std::max_element(h.metal.begin(), h.metal.end())}) {
        if (metal >= 0) return metal;
      }
    }
    if (auto rim = nearest_node(board, layer, at, 2 * radius_nm(h) + kTipReachNm)) return rim;
  }
  return std::nullopt;
}

}  // namespace isthmus::hostsim
