// SPDX-License-Identifier: Apache-2.0
// One layer of copper as fine square cells, painted object by object.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::hostsim {

// Cell (x, y) covers [origin + x*cell, origin + (x+1)*cell) in each direction.
struct Grid {
  Position origin;
  double cell_nm{20000};
  int width{0}, height{0};

  [[nodiscard]] std::size_t cells() const {
    return static_cast<std::size_t>(width) * static_cast<std::size_t>(height);
  }
  [[nodiscard]] std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
           static_cast<std::size_t>(x);
  }
  [[nodiscard]] bool has(int x, int y) const { return x >= 0 && y >= 0 && x < width && y < height; }
  // In cells; the centre of cell (0, 0) is (0.5, 0.5).
  [[nodiscard]] double cell_x(std::int64_t nm) const {
    return static_cast<double>(nm - origin.x) / cell_nm;
  }
  [[nodiscard]] double cell_y(std::int64_t nm) const {
    return static_cast<double>(nm - origin.y) / cell_nm;
  }
  [[nodiscard]] Position centre(int x, int y) const;
};

// Covers the box and a margin; the cell grows from `cell_nm` until a layer has at most 8 million
// cells.
Grid make_grid(const Box& box, double cell_nm);

// While painting: covered share of each cell, 0..255. After etch(): 1 copper, 0 none.
using Cells = std::vector<std::uint8_t>;

// Scanline fill with five lines a cell and exact ends along them. Dark objects add, clear ones
// remove.
void paint(const Grid& grid, const formats::Object& object, Cells& coverage);

// Takes `undercut_cells(x, y)` off every edge of the painted copper (adds where negative) and
// decides each cell by its centre.
void etch(const Grid& grid, const std::function<double(int, int)>& undercut_cells, Cells& coverage);

// Calls `at(x, y)` for every cell whose centre lies within `radius` cells of the segment (ends in
// cells).
struct CellSegment {
  double x0{}, y0{}, x1{}, y1{};
};
void for_cells_near(const Grid& grid, const CellSegment& segment, double radius,
                    const std::function<void(int, int)>& at);
double distance_to(const CellSegment& segment, double x, double y);

}  // namespace isthmus::hostsim
