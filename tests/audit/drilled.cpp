// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/drilled.hpp"

#include <algorithm>

namespace isthmus::audit {
namespace {

constexpr double kListedReach = 150e3;  // docs/formats/board.md: the nearest within 0.15 mm
constexpr double kLinkReach = 500e3;    // a jumper's end and the copper it is soldered to

double to_hole(const Drilled& hole, Position p) {
  double nearest = 1e18;
  for (const Segment& axis : hole.axes) nearest = std::min(nearest, closest(p, axis).distance_nm);
  return nearest;
}

Drilled* hole_at(std::vector<Drilled>& holes, Position p, double reach_nm) {
  Drilled* best = nullptr;
  double best_nm = reach_nm;
  for (Drilled& hole : holes) {
    const double d = to_hole(hole, p);
    if (d > best_nm || (best && d == best_nm)) continue;
    best = &hole, best_nm = d;
  }
  return best;
}

bool may_reach(const std::optional<std::pair<int, int>>& span, std::size_t layer) {
  const int number = static_cast<int>(layer) + 1;
  return !span || (number >= std::min(span->first, span->second) &&
                   number <= std::max(span->first, span->second));
}

bool joins_by_mode(const formats::Design& design, const Drilled& hole) {
  switch (design.board.joins_mode) {
    case formats::JoinsMode::all:
    case formats::JoinsMode::plated:
      return !hole.unplated;
    case formats::JoinsMode::none:
    case formats::JoinsMode::listed:
      return false;
  }
  return false;
}

void add_metal(Raster& raster, Drilled& hole, bool by_hand) {
  if (hole.metal) return;
  Metal metal;
  metal.at = hole.at;
  metal.diameter = hole.diameter;
  metal.by_hand = by_hand;
  for (const auto& rim : hole.rims) metal.feet.insert(metal.feet.end(), rim.begin(), rim.end());
  if (metal.feet.empty()) return;
  hole.metal = raster.metals.size();
  raster.metals.push_back(std::move(metal));
}

void add_links(const formats::Design& design, Raster& raster) {
  for (const formats::LinkEntry& link : design.board.links) {
    const std::int32_t layer = link.side == Side::bottom ? raster.layers() - 1 : 0;
    Metal metal;
    metal.at = link.from;
    metal.link = true;
    for (const Position end : {link.from, link.to}) {
      if (const auto c = raster.nearest(layer, end, kLinkReach))
        metal.feet.push_back({raster.run_at(*c), c->x, c->x});
    }
    if (metal.feet.size() == 2) raster.metals.push_back(std::move(metal));
  }
}

}  // namespace

std::vector<Drilled> find_drilled(const formats::Design& design) {
  std::vector<Drilled> holes;
  for (std::size_t i = 0; i < design.holes.size(); ++i) {
    const formats::Hole& hole = design.holes[i];
    const bool further_leg = i > 0 && hole.slot >= 0 && design.holes[i - 1].slot == hole.slot;
    if (further_leg) {
      holes.back().axes.push_back({hole.from, hole.to});
      holes.back().at = hole.from;
      continue;
    }
    const bool again = std::ranges::any_of(holes, [&](const Drilled& d) {
      return !hole.is_slot() && d.axes.front() == Segment{hole.from, hole.to};
    });
    if (again && !hole.span) continue;
    Drilled d;
    d.axes = {{hole.from, hole.to}};
    d.at = {(hole.from.x + hole.to.x) / 2, (hole.from.y + hole.to.y) / 2};
    d.diameter = hole.diameter;
    d.unplated = !hole.plated.value_or(true);
    d.span = hole.span;
    holes.push_back(std::move(d));
  }
  if (!design.netlist) return holes;
  for (const auto& record : design.netlist->records) {
    if (record.kind != formats::FeatureKind::tooling) continue;
    if (Drilled* hole = hole_at(holes, record.at, 100e3)) hole->unplated = true;
  }
  return holes;
}

void drill(const Grid& grid, const Drilled& hole, std::vector<Bitmap>& copper) {
  const double radius = static_cast<double>(hole.diameter.value) / 2;
  for (const Segment& axis : hole.axes) {
    for (const Cell& c : cells_near(grid, 0, axis, radius)) {
      for (std::size_t layer = 0; layer < copper.size(); ++layer) {
        if (!copper[layer].empty() && may_reach(hole.span, layer))
          copper[layer][grid.at(c.x, c.y)] = 0;
      }
    }
  }
}

void find_rims(const formats::Design&, Raster& raster) {
  for (Drilled& hole : raster.holes) {
    const double radius = static_cast<double>(hole.diameter.value) / 2;
    hole.rims.resize(raster.copper.size());
    for (std::size_t layer = 0; layer < raster.copper.size(); ++layer) {
      if (raster.copper[layer].empty() || !may_reach(hole.span, layer)) continue;
      std::vector<Cell> cells;
      for (const Segment& axis : hole.axes) {
        const auto near = cells_near(raster.grid, static_cast<std::int32_t>(layer), axis,
                                     radius + static_cast<double>(raster.grid.cell));
        cells.insert(cells.end(), near.begin(), near.end());
      }
      hole.rims[layer] = spans_of(raster, std::move(cells));
    }
  }
}

void put_metal_in(const formats::Design& design, Raster& raster) {
  const bool now = joins_count(raster.stage);
  for (Drilled& hole : raster.holes) {
    if (now && joins_by_mode(design, hole)) add_metal(raster, hole, false);
  }
  if (design.board.joins_mode == formats::JoinsMode::listed) {
    for (const formats::JoinEntry& entry : design.board.joins) {
      Drilled* hole = hole_at(raster.holes, entry.at, kListedReach);
      if (!hole) continue;
      hole->unplated = false;  // a wire is meant there, now or later
      if (now && !entry.deferred) add_metal(raster, *hole, entry.kind != formats::JoinKind::plated);
    }
  }
  if (now) add_links(design, raster);
}

}  // namespace isthmus::audit
