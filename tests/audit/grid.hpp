// SPDX-License-Identifier: Apache-2.0
// The auditor's own picture of the copper: cells, painted from the objects of the files alone.
#pragma once

#include <cstdint>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::audit {

struct Cell {
  std::int32_t layer{}, x{}, y{};
  auto operator<=>(const Cell&) const = default;
};

// One lattice for all layers. Its origin is odd on purpose: middles of cells lie on no edge that
// people draw.
struct Grid {
  Position origin;      // corner of cell (0, 0)
  std::int64_t cell{};  // nanometres
  std::int32_t width{}, height{};

  [[nodiscard]] std::size_t size() const {
    return static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  }
  [[nodiscard]] std::size_t at(std::int32_t x, std::int32_t y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
           static_cast<std::size_t>(x);
  }
  [[nodiscard]] bool holds(std::int32_t x, std::int32_t y) const {
    return x >= 0 && y >= 0 && x < width && y < height;
  }
  [[nodiscard]] Position middle(std::int32_t x, std::int32_t y) const {
    return {origin.x + x * cell + cell / 2, origin.y + y * cell + cell / 2};
  }
  // The cell under a place; may lie outside.
  [[nodiscard]] std::int32_t column(std::int64_t x) const;
  [[nodiscard]] std::int32_t row(std::int64_t y) const;
};

// Cells of that size; with 0 of 0.05 mm, finer (to 0.025 mm) on small boards. Coarser where a layer
// would have more than six million.
Grid grid_for(const formats::Design& design, Nanometres cell = {});

using Bitmap = std::vector<std::uint8_t>;

// Fills the cells whose middle lies in the polygon (even-odd).
void paint(const Grid& grid, const Polygon& polygon, std::uint8_t with, Bitmap& on);
// Dark and clear objects in their order.
Bitmap painted(const Grid& grid, const formats::LayerImage& image);

// Cells whose middle lies within `radius_nm` of the segment, ascending by row, then column.
std::vector<Cell> cells_near(const Grid& grid, std::int32_t layer, const Segment& axis,
                             double radius_nm);

}  // namespace isthmus::audit
