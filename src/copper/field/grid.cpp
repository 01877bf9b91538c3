// SPDX-License-Identifier: Apache-2.0
#include "copper/field/grid.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "isthmus/base/ensure.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

constexpr double kLeastOpen = 1e-6;  // of a cell side: narrower openings do not count
constexpr double kLeastStep =
    0.15;                        // of a cell: least distance from a cell's middle to a foot's rim
constexpr double kThread = 0.1;  // squares^-1 of copper that holds in a point
constexpr double kLeastBarrel = 1e-6;  // ohm

// From a cell's middle outside the circle to its rim, along the axis towards a middle inside; in
// parts of the step.
double step_to_rim(double outside, double across, double step, double radius) {
  const double half = std::sqrt(std::max(radius * radius - across * across, 0.0));
  return std::clamp((std::abs(outside) - half) / step, kLeastStep, 1.0);
}

}  // namespace

FieldGrid::FieldGrid(const std::vector<FieldPart>& parts, const std::vector<const Barrel*>& barrels,
                     Ohms sheet, Nanometres slack, std::size_t sectors)
    : slack_(static_cast<double>(slack.value)), sectors_(sectors) {
  std::size_t cells = 0;
  for (const FieldPart& p : parts) {
    Part part{p.island, mesh_of(p.shape, p.cell, p.fine), p.shape, cells, {}, {}};
    part.link_start.assign(part.mesh.cells.size() + 1, 0);
    for (const MeshLink& l : part.mesh.links)
      ++part.link_start[l.a + 1], ++part.link_start[l.b + 1];
    std::partial_sum(part.link_start.begin(), part.link_start.end(), part.link_start.begin());
    part.at_cell.resize(2 * part.mesh.links.size());
    std::vector<std::size_t> fill = part.link_start;
    for (std::size_t k = 0; k < part.mesh.links.size(); ++k) {
      part.at_cell[fill[part.mesh.links[k].a]++] = k;
      part.at_cell[fill[part.mesh.links[k].b]++] = k;
    }
    cells += part.mesh.cells.size();
    parts_.push_back(std::move(part));
  }
  tie(parts, barrels);
  assemble(barrels, sheet);
}

std::optional<std::size_t> FieldGrid::part_of(IslandId island) const {
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    if (parts_[p].island == island) return p;
  }
  return std::nullopt;
}

std::vector<std::size_t> FieldGrid::disc(std::size_t part, Position at, double radius) const {
  const Mesh& m = parts_[part].mesh;
  const double x = static_cast<double>(at.x), y = static_cast<double>(at.y);
  std::vector<std::size_t> cells;
  for (std::int32_t c = m.columns.cell_of(x - radius); c <= m.columns.cell_of(x + radius); ++c) {
    for (std::int32_t r = m.rows.cell_of(y - radius); r <= m.rows.cell_of(y + radius); ++r) {
      const auto [first, last] = m.square(c, r);
      for (std::size_t k = first; k < last; ++k) {
        if (std::hypot(m.x(k) - x, m.y(k) - y) <= radius) cells.push_back(k);
      }
    }
  }
  return cells;
}

std::size_t FieldGrid::nearest_cell(std::size_t part, double x, double y) const {
  const Mesh& m = parts_[part].mesh;
  std::size_t best = 0;
  for (std::size_t k = 1; k < m.cells.size(); ++k) {
    if (std::hypot(m.x(k) - x, m.y(k) - y) < std::hypot(m.x(best) - x, m.y(best) - y)) best = k;
  }
  return best;
}

// Cells under a barrel's foot become one unknown.
void FieldGrid::tie(const std::vector<FieldPart>& parts,
                    const std::vector<const Barrel*>& barrels) {
  std::size_t cells = 0;
  for (const Part& p : parts_) cells += p.mesh.cells.size();
  Sets one(cells);
  for (std::size_t b = 0; b < barrels.size(); ++b) {
    for (const Barrel::Foot& f : barrels[b]->feet) {
      const auto part = part_of(f.island);
      if (!part) continue;
      const double x = static_cast<double>(f.at.x), y = static_cast<double>(f.at.y);
      double radius = static_cast<double>(f.diameter.value) / 2;
      std::vector<std::size_t> under = disc(*part, f.at, radius);
      if (under.empty()) {
        radius += slack_ + static_cast<double>(parts[*part].cell);
        under = disc(*part, f.at, radius);
      }
      if (under.empty()) under.push_back(nearest_cell(*part, x, y)), radius = 0;
      const auto first = static_cast<std::uint32_t>(parts_[*part].first + under[0]);
      for (std::size_t k : under) one.unite(first, parts_[*part].first + k);
      feet_.push_back({b, *part, x, y, radius, first});
    }
  }
  unknown_.resize(cells);
  std::uint32_t count = 0;
  for (std::uint32_t i = 0; i < cells; ++i)
    unknown_[i] = one.find(i) == i ? count++ : unknown_[one.find(i)];
  for (Foot& f : feet_) f.unknown = unknown_[f.unknown];
  matrix_.resize(static_cast<Eigen::Index>(count), static_cast<Eigen::Index>(count));
}

void FieldGrid::assemble(const std::vector<const Barrel*>& barrels, Ohms sheet) {
  for (std::size_t p = 0; p < parts_.size(); ++p) {
    const Mesh& m = parts_[p].mesh;
    std::vector<const Foot*> feet;
    for (const Foot& f : feet_) {
      if (f.part == p && f.radius > 0) feet.push_back(&f);
    }
    for (const MeshLink& l : m.links) {
      const std::uint32_t a = unknown_[parts_[p].first + l.a], b = unknown_[parts_[p].first + l.b];
      const double distance = m.distance(l), open = l.open / distance;
      if (a == b || open < kLeastOpen) continue;
      double step = 1;
      for (const Foot* f : feet) {
        if ((f->unknown == a) == (f->unknown == b)) continue;
        const std::size_t out = f->unknown == a ? l.b : l.a;
        const double dx = m.x(out) - f->x, dy = m.y(out) - f->y;
        step = l.upwards ? step_to_rim(dy, dx, distance, f->radius)
                         : step_to_rim(dx, dy, distance, f->radius);
      }
      conductors_.push_back({a, b, open / step, l.growth / (distance * step)});
    }
  }
  auto count = static_cast<std::uint32_t>(matrix_.rows());
  for (std::size_t b = 0; b < barrels.size(); ++b) {
    if (std::none_of(feet_.begin(), feet_.end(), [b](const Foot& f) { return f.barrel == b; }))
      continue;
    const double g = sheet.value / std::max(barrels[b]->ohms.value, kLeastBarrel);
    for (const Foot& f : feet_) {
      if (f.barrel == b)
        conductors_.push_back({static_cast<std::uint32_t>(f.unknown), count, g, 0});
    }
    ++count;
  }
  matrix_.resize(static_cast<Eigen::Index>(count), static_cast<Eigen::Index>(count));
  hold_together();
  std::vector<Eigen::Triplet<double>> entries;
  const auto add = [&](std::uint32_t i, std::uint32_t j, double g) {
    entries.emplace_back(static_cast<int>(i), static_cast<int>(j), g);
  };
  add(0, 0, 1);  // a lead to nowhere: carries nothing when what enters also leaves
  for (const Conductor& c : conductors_) {
    add(c.a, c.a, c.g);
    add(c.b, c.b, c.g);
    add(std::max(c.a, c.b), std::min(c.a, c.b), -c.g);
  }
  matrix_.setFromTriplets(entries.begin(), entries.end());
  solver_.compute(matrix_);
  ENSURE(solver_.info() == Eigen::Success);
}

// What the outline joins only in a point, or by less than counts, is tied to its nearest neighbour.
void FieldGrid::hold_together() {
  Sets held(static_cast<std::size_t>(matrix_.rows()));
  for (const Conductor& c : conductors_) held.unite(c.a, c.b);
  for (const Part& p : parts_) {  // cells that hang on by slivers, then whatever lies near
    for (const MeshLink& l : p.mesh.links) {
      const std::uint32_t a = unknown_[p.first + l.a], b = unknown_[p.first + l.b];
      if (held.unite(a, b)) conductors_.push_back({a, b, kLeastOpen, 0});
    }
    std::vector<std::size_t> loose;
    const std::uint32_t home = held.find(unknown_[p.first]);
    for (std::size_t k = 0; k < p.mesh.cells.size(); ++k) {
      if (held.find(unknown_[p.first + k]) != home) loose.push_back(k);
    }
    while (!loose.empty()) {
      double best = INFINITY;
      std::size_t from = 0, to = 0;
      for (std::size_t k : loose) {
        for (std::size_t o = 0; o < p.mesh.cells.size(); ++o) {
          if (held.one(unknown_[p.first + o], unknown_[p.first + k])) continue;
          const double d = std::hypot(p.mesh.x(o) - p.mesh.x(k), p.mesh.y(o) - p.mesh.y(k));
          if (d < best) best = d, from = k, to = o;
        }
      }
      const std::uint32_t a = unknown_[p.first + from], b = unknown_[p.first + to];
      held.unite(a, b);
      conductors_.push_back({a, b, kThread, 0});
      std::erase_if(loose, [&](std::size_t k) { return held.one(unknown_[p.first + k], home); });
    }
  }
  for (std::size_t i = 1; i < held.size(); ++i) ENSURE(held.one(i, 0));
}

}  // namespace isthmus::copper
