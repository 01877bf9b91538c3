// SPDX-License-Identifier: Apache-2.0
#include "copper/field/mesh/mesh.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <tuple>
#include <unordered_map>

#include "isthmus/base/ensure.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

// Vertices are integers, so no vertex lies on a grid line; the fractions differ, so that no line of
// slope 1 through integer places meets a grid corner.
constexpr double kFractionX = 0.37, kFractionY = 0.59;
constexpr double kSteepest = 5;  // cap of the growth where the outline grazes a grid line

// Where the outline crosses a grid line. Vertical lines are numbered by column, horizontal ones by
// row.
struct Crossing {
  bool vertical{};
  std::int32_t line{};
  double s{};       // place along the line
  bool forwards{};  // the outline goes to greater columns (rows)
  bool begins{};    // copper begins here in the direction of the line
  double growth{};
  std::uint32_t opening{};
  std::size_t next{};  // crossing that follows along the contour
};

// A stretch of copper on one side of a grid square.
struct Opening {
  bool vertical{};
  std::int32_t line{}, step{};  // step: row (of a vertical line) or column
  double length{};
  double growth{};
  bool goes_on{};  // copper goes on into the following step; that opening is the next one
};

std::pair<MeshLines, MeshLines> lines_over(const std::vector<Polygon>& shape, std::int64_t size,
                                           std::span<const FinePlace> fine) {
  Box box;
  for (const Polygon& p : shape) box.add(box_of(p.outer));
  const std::int64_t half = size / 2;
  std::vector<FineLine> across, up;
  for (const FinePlace& f : fine) {
    across.push_back({static_cast<double>(f.at.x), f.size});
    up.push_back({static_cast<double>(f.at.y), f.size});
  }
  const auto widest = static_cast<double>(size);
  return {MeshLines::graded(static_cast<double>(box.lo.x - half) + kFractionX,
                            static_cast<double>(box.hi.x), widest, across),
          MeshLines::graded(static_cast<double>(box.lo.y - half) + kFractionY,
                            static_cast<double>(box.hi.y), widest, up)};
}

class Cutter {
 public:
  Cutter(const std::vector<Polygon>& shape, std::int64_t size, std::span<const FinePlace> fine) {
    mesh_.size = static_cast<double>(size);
    std::tie(mesh_.columns, mesh_.rows) = lines_over(shape, size, fine);
    for (const Polygon& p : shape) {
      walk(p.outer);
      for (const Contour& h : p.holes) walk(h);
    }
  }

  Mesh cut() {
    open_sides();
    if (openings_.empty()) {  // all copper lies in one square
      mesh_.cells.push_back({0, 0, true});
      return std::move(mesh_);
    }
    halves_ = Sets(2 * openings_.size());
    join_along_outline();
    join_at_corners();
    number_cells();
    return std::move(mesh_);
  }

 private:
  void walk(const Contour& c) {
    const std::size_t first = crossings_.size();
    std::vector<std::pair<double, Crossing>> here;
    for (std::size_t i = 0; i < c.size(); ++i) {
      const Position p = c[i], q = c[(i + 1) % c.size()];
      here.clear();
      cross_lines(p, q, here);
      std::sort(here.begin(), here.end(),
                [](const auto& a, const auto& b) { return a.first < b.first; });
      for (const auto& [t, crossing] : here) crossings_.push_back(crossing);
    }
    for (std::size_t k = first; k < crossings_.size(); ++k) {
      crossings_[k].next = k + 1 < crossings_.size() ? k + 1 : first;
    }
  }

  void cross_lines(Position p, Position q, std::vector<std::pair<double, Crossing>>& out) const {
    const double px = static_cast<double>(p.x), py = static_cast<double>(p.y);
    const double dx = static_cast<double>(q.x) - px, dy = static_cast<double>(q.y) - py;
    const double length = std::hypot(dx, dy);
    if (p.x != q.x) {
      const double growth = std::min(length / std::abs(dx), kSteepest);
      const auto [from, to] =
          std::minmax({mesh_.columns.cell_of(px), mesh_.columns.cell_of(px + dx)});
      for (std::int32_t k = from + 1; k <= to; ++k) {
        const double t = (mesh_.columns.line(k) - px) / dx;
        out.push_back({t, {true, k, py + t * dy, dx > 0, dx > 0, growth, 0, 0}});
      }
    }
    if (p.y != q.y) {
      const double growth = std::min(length / std::abs(dy), kSteepest);
      const auto [from, to] = std::minmax({mesh_.rows.cell_of(py), mesh_.rows.cell_of(py + dy)});
      for (std::int32_t k = from + 1; k <= to; ++k) {
        const double t = (mesh_.rows.line(k) - py) / dy;
        out.push_back({t, {false, k, px + t * dx, dy > 0, dy < 0, growth, 0, 0}});
      }
    }
  }

  // Pairs the crossings of every line into stretches of copper and cuts those at the other lines.
  void open_sides() {
    std::vector<std::size_t> order(crossings_.size());
    std::iota(order.begin(), order.end(), 0u);
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      const Crossing &l = crossings_[a], &r = crossings_[b];
      return std::tie(l.vertical, l.line, l.s, l.begins, a) <
             std::tie(r.vertical, r.line, r.s, r.begins, b);
    });
    int depth = 0;
    std::vector<std::size_t> stretch;
    for (std::size_t k : order) {
      depth += crossings_[k].begins ? 1 : -1;
      stretch.push_back(k);
      if (depth == 0) {
        lay_stretch(stretch);
        stretch.clear();
      }
    }
    ENSURE(depth == 0);
  }

  void lay_stretch(const std::vector<std::size_t>& stretch) {
    const Crossing &first = crossings_[stretch.front()], &last = crossings_[stretch.back()];
    const MeshLines& lines = first.vertical ? mesh_.rows : mesh_.columns;
    const double from = std::min(first.s, last.s), to = std::max(first.s, last.s);
    const std::int32_t begin = lines.cell_of(from), end = lines.cell_of(to);
    const std::size_t base = openings_.size();
    for (std::int32_t k = begin; k <= end; ++k) {
      const double a = std::max(from, lines.line(k)), b = std::min(to, lines.line(k + 1));
      openings_.push_back({first.vertical, first.line, k, std::max(b - a, 0.0), 0, k < end});
    }
    openings_[base].growth += first.growth;
    openings_.back().growth += last.growth;
    for (std::size_t k : stretch) {
      const std::int32_t step = std::clamp(lines.cell_of(crossings_[k].s), begin, end);
      crossings_[k].opening =
          static_cast<std::uint32_t>(base + static_cast<std::size_t>(step - begin));
    }
  }

  // Each opening has two halves: 0 in the cell to its left (below), 1 in the cell to its right
  // (above).
  void join_along_outline() {
    for (const Crossing& c : crossings_) {
      const Crossing& n = crossings_[c.next];
      halves_.unite(2 * c.opening + (c.forwards ? 1u : 0u), 2 * n.opening + (n.forwards ? 0u : 1u));
    }
  }

  void join_at_corners() {
    std::unordered_map<std::uint64_t, std::size_t>
        flat;  // corner -> horizontal opening that goes on there
    const auto key = [](std::int32_t column, std::int32_t row) {
      return static_cast<std::uint64_t>(static_cast<std::uint32_t>(column)) << 32 |
             static_cast<std::uint32_t>(row);
    };
    for (std::size_t k = 0; k < openings_.size(); ++k) {
      const Opening& o = openings_[k];
      if (!o.vertical && o.goes_on) flat[key(o.step + 1, o.line)] = k;
    }
    for (std::size_t k = 0; k < openings_.size(); ++k) {
      const Opening& o = openings_[k];
      if (!o.vertical || !o.goes_on) continue;
      const auto found = flat.find(key(o.line, o.step + 1));
      if (found == flat.end()) continue;
      const std::size_t left = found->second, right = left + 1, below = k, above = k + 1;
      halves_.unite(2 * below, 2 * left);
      halves_.unite(2 * below + 1, 2 * right);
      halves_.unite(2 * above, 2 * left + 1);
      halves_.unite(2 * above + 1, 2 * right + 1);
    }
  }

  [[nodiscard]] MeshCell square_of(std::size_t half) const {
    const Opening& o = openings_[half / 2];
    const std::int32_t back = half % 2 == 0 ? 1 : 0;
    return o.vertical ? MeshCell{o.line - back, o.step, false}
                      : MeshCell{o.step, o.line - back, false};
  }

  void number_cells() {
    std::vector<std::pair<MeshCell, std::size_t>> roots;
    for (std::size_t half = 0; half < halves_.size(); ++half) {
      if (halves_.find(half) == half) roots.emplace_back(square_of(half), half);
    }
    std::sort(roots.begin(), roots.end());
    std::vector<std::uint32_t> cell(halves_.size());
    for (const auto& [square, half] : roots) {
      cell[half] = static_cast<std::uint32_t>(mesh_.cells.size());
      mesh_.cells.push_back(square);
    }
    for (const Crossing& c : crossings_) {
      for (std::size_t side : {0u, 1u})
        mesh_.cells[cell[halves_.find(2 * std::size_t{c.opening} + side)]].cut = true;
    }
    for (std::size_t k = 0; k < openings_.size(); ++k) {
      const Opening& o = openings_[k];
      const std::uint32_t a = cell[halves_.find(2 * k)], b = cell[halves_.find(2 * k + 1)];
      if (a != b) mesh_.links.push_back({a, b, !o.vertical, o.length, o.growth});
    }
  }

  Mesh mesh_;
  std::vector<Crossing> crossings_;
  std::vector<Opening> openings_;
  Sets halves_{0};
};

}  // namespace

std::pair<std::size_t, std::size_t> Mesh::square(std::int32_t column, std::int32_t row) const {
  const auto less = [](const MeshCell& a, const MeshCell& b) {
    return std::tie(a.column, a.row) < std::tie(b.column, b.row);
  };
  const auto [lo, hi] =
      std::equal_range(cells.begin(), cells.end(), MeshCell{column, row, false}, less);
  return {static_cast<std::size_t>(lo - cells.begin()),
          static_cast<std::size_t>(hi - cells.begin())};
}

Mesh mesh_of(const std::vector<Polygon>& shape, std::int64_t size,
             std::span<const FinePlace> fine) {
  ENSURE(size >= 100 && !shape.empty());
  return Cutter(shape, size, fine).cut();
}

double rectangles(const std::vector<Polygon>& shape, std::int64_t size,
                  std::span<const FinePlace> fine) {
  const auto [columns, rows] = lines_over(shape, size, fine);
  return static_cast<double>(columns.cells()) * static_cast<double>(rows.cells());
}

}  // namespace isthmus::copper
