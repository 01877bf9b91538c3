// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/board.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "hostsim/copper/defects.hpp"
#include "hostsim/copper/holes.hpp"
#include "hostsim/random.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kCopperOhmMetre = 17.241e-9;  // IEC 60028, 20 degC
constexpr double kCopperPerKelvin = 0.00393;   // IEC 60028
constexpr double kDefaultCellNm = 20000;
constexpr double kLinkOhm = 5e-3;                // a wire jumper of some centimetres
constexpr double kFaradPerSquareMetre = 2.4e-8;  // FR-4, 1.6 mm: permittivity 4.4

// Layers that exist at the board's stage.
std::vector<bool> etched_layers(Stage stage, std::size_t count) {
  std::vector<bool> there(count, true);
  for (std::size_t l = 0; l < count; ++l) {
    if (stage == Stage::etched_top) there[l] = l == 0;
    if (stage == Stage::etched_bottom) there[l] = l + 1 == count;
  }
  return there;
}

double clipped_normal(Random& random) { return std::clamp(random.normal(), -2.0, 2.0); }

class Builder {
 public:
  Builder(const Scenario& scenario, const formats::Design& design)
      : scenario_(scenario),
        design_(design),
        field_(draw_copper(scenario.copper, design.board.copper.thickness, scenario.seed)) {}

  Result<CopperBoard> run() {
    const std::size_t count = design_.copper.size();
    const std::vector<bool> there = etched_layers(design_.board.stage, count);
    Box extent;
    for (std::size_t l = 0; l < count; ++l) {
      if (there[l] && !design_.copper[l].extent.empty()) extent.add(design_.copper[l].extent);
    }
    if (extent.empty()) {
      return Problem{design_.board.path.string(), 0,  0, "SIM-043",
                     "the board has no copper",   "", ""};
    }
    board_.grid =
        make_grid(extent, scenario_.cell_um > 0 ? scenario_.cell_um * 1000 : kDefaultCellNm);
    board_.layers.resize(count);
    for (std::size_t l = 0; l < count; ++l) {
      board_.layers[l].copper.assign(board_.grid.cells(), 0);
      if (there[l]) etch_layer(l);
    }
    auto holes = plan_holes(scenario_, design_);
    if (!holes) return holes.problem();
    board_.holes = std::move(holes).value();
    const auto drawn = draw_defects();
    if (!drawn) return drawn.problem();
    drill(board_);
    make_network();
    const auto hung = hang_defects();
    if (!hung) return hung.problem();
    if (scenario_.board_volts != 0) add_battery();
    return std::move(board_);
  }

 private:
  void etch_layer(std::size_t l) {
    Cells& cells = board_.layers[l].copper;
    for (const formats::Object& object : design_.copper[l].objects)
      paint(board_.grid, object, cells);
    etch(
        board_.grid,
        [this](int x, int y) {
          return field_.undercut_at(share_x(x), share_y(y)) / board_.grid.cell_nm;
        },
        cells);
  }

  [[nodiscard]] double share_x(double x) const { return x / board_.grid.width - 0.5; }
  [[nodiscard]] double share_y(double y) const { return y / board_.grid.height - 0.5; }

  [[nodiscard]] Problem no_side(const Defect& d) const {
    return {scenario_.path.string(),
            d.line,
            d.column,
            "SIM-040",
            fmt::format("the board has no copper on side '{}'", d.side.value_or("top")),
            "",
            ""};
  }

  Result<Done> draw_defects() {
    for (const Defect& d : scenario_.defects) {
      if (d.kind == DefectKind::no_join) continue;
      const auto layer = layer_of(d, board_.layers.size());
      if (!layer) return no_side(d);
      draw_defect(d, board_.grid, board_.layers[*layer], board_.warnings);
    }
    return Done{};
  }

  [[nodiscard]] NetsOfConductor nets_of_conductors() const {
    NetsOfConductor nets;
    if (!design_.netlist) return nets;
    for (const formats::NetlistRecord& r : design_.netlist->records) {
      const bool below = r.access >= 2 && r.access >= design_.netlist->bottom_access;
      const auto node = touched_node(board_, below ? board_.layers.size() - 1 : 0, r.at);
      if (node) nets[board_.graph.network.conductor_of(*node)].insert(r.net);
    }
    return nets;
  }

  Result<Done> hang_defects() {
    const NetsOfConductor nets = nets_of_conductors();
    for (const Defect& d : scenario_.defects) {
      if (d.kind != DefectKind::whisker && d.kind != DefectKind::leak) continue;
      const auto done = hang_defect(d, *layer_of(d, board_.layers.size()), scenario_, nets, board_);
      if (!done) return done.problem();
    }
    return Done{};
  }

  void make_network() {
    std::vector<Edge> edges;
    for (LayerMesh& layer : board_.layers) {
      add_nodes(board_.grid, layer, board_.nodes);
      add_edges(
          board_.grid, layer, board_.nodes,
          [this](double x, double y) { return field_.sheet_siemens(share_x(x), share_y(y)); },
          edges);
    }
    add_barrels(board_, edges);
    if (joins_count(design_.board.stage)) add_links(edges);
    board_.graph.network = Network(static_cast<Node>(board_.nodes.size()), edges);
    const double cell_m2 = board_.grid.cell_nm * board_.grid.cell_nm * 1e-18;
    board_.graph.farad.assign(static_cast<std::size_t>(board_.graph.network.conductors()), 0.0);
    for (std::size_t n = 0; n < board_.nodes.size(); ++n) {
      const auto c =
          static_cast<std::size_t>(board_.graph.network.conductor_of(static_cast<Node>(n)));
      board_.graph.farad[c] += board_.nodes[n].cells * cell_m2 * kFaradPerSquareMetre;
    }
  }

  void add_links(std::vector<Edge>& edges) {
    for (const formats::LinkEntry& link : design_.board.links) {
      const std::size_t layer = link.side == Side::bottom ? board_.layers.size() - 1 : 0;
      const auto a = nearest_node(board_, layer, link.from, 0.5e6);
      const auto b = nearest_node(board_, layer, link.to, 0.5e6);
      if (a && b && *a != *b) {
        edges.push_back({*a, *b, 1 / kLinkOhm});
      } else {
        board_.warnings.push_back("a link of the board ends on no copper");
      }
    }
  }

  // Between the two conductors with the most copper.
  void add_battery() {
    std::vector<std::pair<double, int>> ranked;
    for (std::size_t c = 0; c < board_.graph.farad.size(); ++c) {
      ranked.emplace_back(-board_.graph.farad[c], static_cast<int>(c));
    }
    std::sort(ranked.begin(), ranked.end());
    if (ranked.size() < 2) return;
    const auto first = [&](std::size_t k) {
      return board_.graph.network.members(ranked[k].second).front();
    };
    board_.graph.batteries.push_back({first(0), first(1), scenario_.board_volts});
  }

  const Scenario& scenario_;
  const formats::Design& design_;
  CopperField field_;
  CopperBoard board_{{}, {}, {}, {}, {Network(0, {}), {}, {}, {}}, {}};
};

}  // namespace

double CopperField::sheet_siemens(double u, double v) const {
  const double nm =
      thickness_nm * std::max(0.05, 1 + thickness_slope_x * u + thickness_slope_y * v);
  const double ohm_metre = kCopperOhmMetre * (1 + kCopperPerKelvin * (temperature_c - 20));
  return nm * 1e-9 / ohm_metre;
}

double CopperField::undercut_at(double u, double v) const {
  return undercut_nm * (1 + undercut_slope_x * u + undercut_slope_y * v);
}

Result<CopperBoard> make_copper_board(const Scenario& scenario, const formats::Design& design) {
  return Builder(scenario, design).run();
}

CopperField draw_copper(const CopperDraw& draw, Nanometres thickness, std::uint64_t seed) {
  Random random(seed, "copper");
  CopperField f;
  f.temperature_c = draw.temperature_c;
  const double factor = std::max(0.05, 1 + draw.thickness_spread * clipped_normal(random));
  f.thickness_nm = static_cast<double>(thickness.value) * factor;
  f.undercut_nm = 1000 * (draw.undercut_um + draw.undercut_spread_um * clipped_normal(random));
  const double thick = random.between(0, 2 * std::numbers::pi);
  f.thickness_slope_x = draw.gradient * std::cos(thick);
  f.thickness_slope_y = draw.gradient * std::sin(thick);
  const double under = random.between(0, 2 * std::numbers::pi);
  f.undercut_slope_x = draw.gradient * std::cos(under);
  f.undercut_slope_y = draw.gradient * std::sin(under);
  return f;
}

std::optional<Node> nearest_node(const CopperBoard& board, std::size_t layer, Position at,
                                 double reach_nm) {
  const Grid& grid = board.grid;
  if (layer >= board.layers.size()) return std::nullopt;
  const double x = grid.cell_x(at.x), y = grid.cell_y(at.y);
  const int cx = static_cast<int>(std::floor(x)), cy = static_cast<int>(std::floor(y));
  if (grid.has(cx, cy) && board.layers[layer].node_of[grid.index(cx, cy)] >= 0) {
    return board.layers[layer].node_of[grid.index(cx, cy)];
  }
  std::optional<Node> best;
  double distance = 1e30;
  for_cells_near(grid, {x, y, x, y}, reach_nm / grid.cell_nm, [&](int px, int py) {
    const Node n = board.layers[layer].node_of[grid.index(px, py)];
    const double d = std::hypot(px + 0.5 - x, py + 0.5 - y);
    if (n >= 0 && d < distance) {
      distance = d;
      best = n;
    }
  });
  return best;
}

}  // namespace isthmus::hostsim
