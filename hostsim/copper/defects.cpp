// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/defects.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "hostsim/copper/track.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kWhiskerReachNm = 0.5e6;
constexpr double kLeakReachNm = 10e6;

double in_cells(const Grid& grid, double mm) { return mm * 1e6 / grid.cell_nm; }

CellSegment segment_of(const Grid& grid, Position a, Position b) {
  return {grid.cell_x(a.x), grid.cell_y(a.y), grid.cell_x(b.x), grid.cell_y(b.y)};
}

std::string describe(const Defect& d, const char* kind, const char* why) {
  return fmt::format("the {} at line {} changes nothing: {}", kind, d.line, why);
}

void draw_open(const Defect& d, const Grid& grid, LayerMesh& layer,
               std::vector<std::string>& warnings) {
  int removed = 0;
  for_cells_near(grid, segment_of(grid, d.at, d.at), in_cells(grid, d.diameter_mm) / 2,
                 [&](int x, int y) {
                   removed += layer.copper[grid.index(x, y)];
                   layer.copper[grid.index(x, y)] = 0;
                 });
  if (removed == 0) warnings.push_back(describe(d, "open", "no copper there"));
}

// Every cell the segment passes through and, on a diagonal step, a side neighbour: connected face
// to face.
void draw_thread(const Grid& grid, const CellSegment& s, LayerMesh& layer) {
  const int steps = static_cast<int>(std::ceil(2 * std::hypot(s.x1 - s.x0, s.y1 - s.y0))) + 1;
  int last_x = 0, last_y = 0;
  for (int i = 0; i <= steps; ++i) {
    const double t = static_cast<double>(i) / steps;
    const int x = static_cast<int>(std::floor(s.x0 + t * (s.x1 - s.x0)));
    const int y = static_cast<int>(std::floor(s.y0 + t * (s.y1 - s.y0)));
    if (grid.has(x, y)) layer.copper[grid.index(x, y)] = 1;
    if (i > 0 && x != last_x && y != last_y && grid.has(last_x, y))
      layer.copper[grid.index(last_x, y)] = 1;
    last_x = x;
    last_y = y;
  }
}

void draw_bridge(const Defect& d, const Grid& grid, LayerMesh& layer) {
  const CellSegment s = segment_of(grid, d.at, d.to);
  for_cells_near(grid, s, in_cells(grid, d.width_mm) / 2,
                 [&](int x, int y) { layer.copper[grid.index(x, y)] = 1; });
  draw_thread(grid, s, layer);
}

void draw_neck(const Defect& d, const Grid& grid, LayerMesh& layer,
               std::vector<std::string>& warnings) {
  const double x = grid.cell_x(d.at.x), y = grid.cell_y(d.at.y);
  const auto stretch = stretch_of_track(grid, layer.copper, x, y, in_cells(grid, d.length_mm));
  if (stretch.share.empty()) {
    warnings.push_back(describe(d, "neck", "no copper there"));
    return;
  }
  const double width = in_cells(grid, d.width_mm), length = in_cells(grid, d.length_mm);
  if (stretch.width <= width) {
    warnings.push_back(describe(d, "neck", "the track is no wider"));
    return;
  }
  // What the neck adds, in squares, spread over the squares the stretch has.
  const double added = length / width - length / stretch.width;
  const double each = added / (stretch.area / (stretch.width * stretch.width));
  for (const auto& [cell, share] : stretch.share) layer.resistance[cell] = 1 + share * each;
}

Problem defect_problem(const Scenario& scenario, const Defect& d, const char* code,
                       std::string message) {
  return {scenario.path.string(), d.line, d.column, code, std::move(message), "", ""};
}

struct Nearby {
  double distance{};
  Node node{};
  int conductor{};
  auto operator<=>(const Nearby&) const = default;
};

// The nearest copper of every conductor within a distance, nearest first.
std::vector<Nearby> conductors_near(const CopperBoard& board, std::size_t layer, Position at,
                                    double reach_nm) {
  const Grid& grid = board.grid;
  const double x = grid.cell_x(at.x), y = grid.cell_y(at.y);
  std::map<int, Nearby> nearest;
  for_cells_near(grid, {x, y, x, y}, reach_nm / grid.cell_nm, [&](int px, int py) {
    const Node n = board.layers[layer].node_of[grid.index(px, py)];
    if (n < 0) return;
    const Nearby here{std::hypot(px + 0.5 - x, py + 0.5 - y), n,
                      board.graph.network.conductor_of(n)};
    const auto [it, fresh] = nearest.try_emplace(here.conductor, here);
    if (!fresh && here < it->second) it->second = here;
  });
  std::vector<Nearby> ranked;
  for (const auto& [conductor, place] : nearest) ranked.push_back(place);
  std::sort(ranked.begin(), ranked.end());
  return ranked;
}

std::optional<Node> first_of_net(const std::vector<Nearby>& near, const NetsOfConductor& nets,
                                 const std::string& net) {
  for (const Nearby& n : near) {
    const auto found = nets.find(n.conductor);
    if (found != nets.end() && found->second.contains(net)) return n.node;
  }
  return std::nullopt;
}

bool knows(const NetsOfConductor& nets, const std::string& net) {
  return std::any_of(nets.begin(), nets.end(),
                     [&](const auto& entry) { return entry.second.contains(net); });
}

Result<Done> hang_leak(const Defect& d, std::size_t layer, const Scenario& scenario,
                       const NetsOfConductor& nets, CopperBoard& board) {
  std::vector<Nearby> near;
  for (double reach = 0.5e6; reach <= kLeakReachNm && near.size() < 2; reach *= 2) {
    near = conductors_near(board, layer, d.at, reach);
  }
  if (near.size() < 2) {
    return defect_problem(scenario, d, "SIM-042", "no two conductors within 10 mm of the leak");
  }
  NodeLeak leak{near[0].node, near[1].node, d.ohm, d.volts_exponent, d.drift_per_s};
  if (d.nets.size() == 2 && knows(nets, d.nets[0]) && knows(nets, d.nets[1])) {
    near = conductors_near(board, layer, d.at, kLeakReachNm);
    const auto a = first_of_net(near, nets, d.nets[0]), b = first_of_net(near, nets, d.nets[1]);
    if (!a || !b) {
      return defect_problem(
          scenario, d, "SIM-042",
          fmt::format("no copper of net '{}' within 10 mm of the leak", d.nets[a ? 1 : 0]));
    }
    leak.a = *a;
    leak.b = *b;
  }
  if (board.graph.network.conductor_of(leak.a) == board.graph.network.conductor_of(leak.b)) {
    board.warnings.push_back(describe(d, "leak", "both ends lie on one conductor"));
    return Done{};
  }
  board.graph.leaks.push_back(leak);
  return Done{};
}

Result<Done> hang_whisker(const Defect& d, std::size_t layer, const Scenario& scenario,
                          CopperBoard& board) {
  const auto a = nearest_node(board, layer, d.at, kWhiskerReachNm);
  const auto b = nearest_node(board, layer, d.to, kWhiskerReachNm);
  if (!a || !b) {
    return defect_problem(scenario, d, "SIM-042",
                          "no copper within 0.5 mm of an end of the whisker");
  }
  if (board.graph.network.conductor_of(*a) == board.graph.network.conductor_of(*b)) {
    board.warnings.push_back(describe(d, "whisker", "both ends lie on one conductor"));
    return Done{};
  }
  board.graph.leaks.push_back({*a, *b, d.ohm, 1, 0});
  return Done{};
}

}  // namespace

std::optional<std::size_t> layer_of(const Defect& defect, std::size_t layers) {
  const std::string side = defect.side.value_or("top");
  if (side == "top") return layers > 0 ? std::optional<std::size_t>(0) : std::nullopt;
  if (side == "bottom") return layers > 1 ? std::optional<std::size_t>(layers - 1) : std::nullopt;
  const auto number = static_cast<std::size_t>(std::stoul(side.substr(1)));
  return number >= 1 && number <= layers ? std::optional<std::size_t>(number - 1) : std::nullopt;
}

void draw_defect(const Defect& d, const Grid& grid, LayerMesh& layer,
                 std::vector<std::string>& warnings) {
  if (d.kind == DefectKind::open) draw_open(d, grid, layer, warnings);
  if (d.kind == DefectKind::bridge) draw_bridge(d, grid, layer);
  if (d.kind == DefectKind::neck) draw_neck(d, grid, layer, warnings);
}

Result<Done> hang_defect(const Defect& d, std::size_t layer, const Scenario& scenario,
                         const NetsOfConductor& nets, CopperBoard& board) {
  if (d.kind == DefectKind::whisker) return hang_whisker(d, layer, scenario, board);
  if (d.kind == DefectKind::leak) return hang_leak(d, layer, scenario, nets, board);
  return Done{};
}

}  // namespace isthmus::hostsim
