// SPDX-License-Identifier: Apache-2.0
// A square grid cut by a copper outline, for finite volumes.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::copper {

// The part of one grid square that hangs together: a square crossed by a gap gives two cells.
struct MeshCell {
  std::int32_t column{}, row{};
  bool cut{};  // the outline runs through it
  auto operator<=>(const MeshCell&) const = default;
};

// The open side between two neighbouring cells.
struct MeshLink {
  std::uint32_t a{}, b{};  // a is left of or below b
  bool upwards{};          // b lies above a; else to its right
  double open{};           // open length / cell size: the conductance in squares^-1
  double growth{};         // how fast the open length grows when the outline moves outwards:
                           // d(length)/d(offset)
};

struct Mesh {
  double x0{}, y0{};            // nm: lower left corner of square (0, 0)
  double size{};                // nm
  std::vector<MeshCell> cells;  // ascending by column, then row
  std::vector<MeshLink> links;
  [[nodiscard]] double x(std::size_t cell) const { return x0 + (cells[cell].column + 0.5) * size; }
  [[nodiscard]] double y(std::size_t cell) const { return y0 + (cells[cell].row + 0.5) * size; }
  // Cells [first, last) of one square; empty where there is no copper.
  [[nodiscard]] std::pair<std::size_t, std::size_t> square(std::int32_t column,
                                                           std::int32_t row) const;
};

// Open lengths are exact but for rounding. A potential that varies linearly along a straight strip
// solves the discrete equations exactly, whatever the strip's angle, place and width, even when it
// is narrower than a square. REQUIRES size >= 100 nm; contours as in Polygon (outer
// counter-clockwise, holes clockwise).
Mesh mesh_of(const std::vector<Polygon>& shape, std::int64_t size);

}  // namespace isthmus::copper
