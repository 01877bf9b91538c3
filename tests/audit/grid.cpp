// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/grid.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::audit {
namespace {

constexpr double kMostCells = 6e6;  // a layer
constexpr double kFewCells = 1.5e6;
constexpr double kFinest = 25e3, kUsual = 50e3;  // nm
constexpr std::int64_t kOddX = 17, kOddY = 31;

std::int32_t floor_div(std::int64_t a, std::int64_t b) {
  return static_cast<std::int32_t>(a >= 0 ? a / b : -((-a + b - 1) / b));
}

struct RowRange {
  std::int32_t first, last;
};

RowRange rows_of(const Grid& grid, const Box& box) {
  return {std::max(0, grid.row(box.lo.y) - 1), std::min(grid.height - 1, grid.row(box.hi.y) + 1)};
}

// Where the contour crosses the middle line of each row.
void cross(const Grid& grid, const Contour& contour, RowRange rows,
           std::vector<std::vector<double>>& crossings) {
  for (std::size_t i = 0; i < contour.size(); ++i) {
    Position a = contour[i], b = contour[(i + 1) % contour.size()];
    if (a.y == b.y) continue;
    if (a.y > b.y) std::swap(a, b);
    const std::int32_t from = std::max(rows.first, grid.row(a.y) - 1);
    const std::int32_t to = std::min(rows.last, grid.row(b.y) + 1);
    for (std::int32_t y = from; y <= to; ++y) {
      const std::int64_t middle = grid.middle(0, y).y;
      if (middle < a.y || middle >= b.y) continue;
      const double share = static_cast<double>(middle - a.y) / static_cast<double>(b.y - a.y);
      crossings[static_cast<std::size_t>(y - rows.first)].push_back(
          static_cast<double>(a.x) + share * static_cast<double>(b.x - a.x));
    }
  }
}

}  // namespace

std::int32_t Grid::column(std::int64_t x) const { return floor_div(x - origin.x, cell); }
std::int32_t Grid::row(std::int64_t y) const { return floor_div(y - origin.y, cell); }

Grid grid_for(const formats::Design& design, Nanometres cell) {
  Box box;
  for (const formats::LayerImage& image : design.copper) {
    for (const formats::Object& object : image.objects) {
      if (!object.dark) continue;
      for (const Polygon& polygon : object.shape) box.add(box_of(polygon.outer));
    }
  }
  if (box.empty()) box.add(Position{0, 0});
  const double w = static_cast<double>(box.hi.x - box.lo.x);
  const double h = static_cast<double>(box.hi.y - box.lo.y);
  const double wanted = cell.value > 0 ? static_cast<double>(cell.value)
                                       : std::clamp(std::sqrt(w * h / kFewCells), kFinest, kUsual);
  Grid grid;
  grid.cell = static_cast<std::int64_t>(std::max(wanted, std::sqrt(w * h / kMostCells)));
  grid.origin = {box.lo.x - 3 * grid.cell + kOddX, box.lo.y - 3 * grid.cell + kOddY};
  grid.width = static_cast<std::int32_t>(w / static_cast<double>(grid.cell)) + 7;
  grid.height = static_cast<std::int32_t>(h / static_cast<double>(grid.cell)) + 7;
  return grid;
}

void paint(const Grid& grid, const Polygon& polygon, std::uint8_t with, Bitmap& on) {
  const RowRange rows = rows_of(grid, box_of(polygon.outer));
  if (rows.last < rows.first) return;
  std::vector<std::vector<double>> crossings(static_cast<std::size_t>(rows.last - rows.first + 1));
  cross(grid, polygon.outer, rows, crossings);
  for (const Contour& hole : polygon.holes) cross(grid, hole, rows, crossings);
  for (std::int32_t y = rows.first; y <= rows.last; ++y) {
    auto& at = crossings[static_cast<std::size_t>(y - rows.first)];
    std::ranges::sort(at);
    for (std::size_t i = 0; i + 1 < at.size(); i += 2) {
      const double half = static_cast<double>(grid.cell) / 2;
      const double left = at[i] - static_cast<double>(grid.origin.x) - half;
      const double right = at[i + 1] - static_cast<double>(grid.origin.x) - half;
      const double cell = static_cast<double>(grid.cell);
      const auto x0 = std::max(0, static_cast<std::int32_t>(std::ceil(left / cell)));
      const auto x1 = std::min(grid.width - 1, static_cast<std::int32_t>(std::floor(right / cell)));
      for (std::int32_t x = x0; x <= x1; ++x) on[grid.at(x, y)] = with;
    }
  }
}

Bitmap painted(const Grid& grid, const formats::LayerImage& image) {
  Bitmap cells(grid.size(), 0);
  for (const formats::Object& object : image.objects) {
    for (const Polygon& polygon : object.shape) paint(grid, polygon, object.dark ? 1 : 0, cells);
  }
  return cells;
}

std::vector<Cell> cells_near(const Grid& grid, std::int32_t layer, const Segment& axis,
                             double radius_nm) {
  Box box;
  box.add(axis.a);
  box.add(axis.b);
  box = box.grown(Nanometres{static_cast<std::int64_t>(radius_nm) + grid.cell});
  std::vector<Cell> found;
  for (std::int32_t y = std::max(0, grid.row(box.lo.y));
       y <= std::min(grid.height - 1, grid.row(box.hi.y)); ++y) {
    for (std::int32_t x = std::max(0, grid.column(box.lo.x));
         x <= std::min(grid.width - 1, grid.column(box.hi.x)); ++x) {
      if (closest(grid.middle(x, y), axis).distance_nm <= radius_nm) found.push_back({layer, x, y});
    }
  }
  return found;
}

}  // namespace isthmus::audit
