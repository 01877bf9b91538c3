// SPDX-License-Identifier: Apache-2.0
// A rectangular grid cut by a copper outline, for finite volumes.
#pragma once

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "copper/field/mesh/lines.hpp"
#include "isthmus/base/geometry.hpp"

namespace isthmus::copper {

// The part of one grid rectangle that hangs together: one crossed by a gap gives two cells.
struct MeshCell {
  std::int32_t column{}, row{};
  bool cut{};  // the outline runs through it
  auto operator<=>(const MeshCell&) const = default;
};

// The open side between two neighbouring cells.
struct MeshLink {
  std::uint32_t a{}, b{};  // a is left of or below b
  bool upwards{};          // b lies above a; else to its right
  double open{};           // nm of copper on the side
  double growth{};         // how fast the open length grows when the outline moves outwards:
                           // d(length)/d(offset)
};

struct Mesh {
  double size{};  // nm: no cell is wider
  MeshLines columns, rows;
  std::vector<MeshCell> cells;  // ascending by column, then row
  std::vector<MeshLink> links;
  // The middle of the whole rectangle, wherever the copper lies in it.
  [[nodiscard]] double x(std::size_t cell) const { return columns.middle(cells[cell].column); }
  [[nodiscard]] double y(std::size_t cell) const { return rows.middle(cells[cell].row); }
  [[nodiscard]] double width(std::size_t cell) const { return columns.width(cells[cell].column); }
  [[nodiscard]] double height(std::size_t cell) const { return rows.width(cells[cell].row); }
  [[nodiscard]] double side(const MeshLink& l) const {
    return l.upwards ? width(l.a) : height(l.a);
  }
  // Between the middles of its cells; open / distance is its conductance in squares^-1.
  [[nodiscard]] double distance(const MeshLink& l) const {
    return l.upwards ? y(l.b) - y(l.a) : x(l.b) - x(l.a);
  }
  // Cells [first, last) of one rectangle; empty where there is no copper.
  [[nodiscard]] std::pair<std::size_t, std::size_t> square(std::int32_t column,
                                                           std::int32_t row) const;
};

// Where cells must not be wider than `size`, beside the grid's own size.
struct FinePlace {
  Position at;
  double size{};  // nm
};

// Open lengths are exact but for rounding. A potential that varies linearly along a straight strip
// solves the discrete equations exactly, whatever the strip's angle, place and width, even when it
// is narrower than a cell. REQUIRES size >= 100 nm; contours as in Polygon (outer
// counter-clockwise, holes clockwise).
Mesh mesh_of(const std::vector<Polygon>& shape, std::int64_t size,
             std::span<const FinePlace> fine = {});

// How many rectangles that grid has, copper in them or not. REQUIRES as mesh_of.
double rectangles(const std::vector<Polygon>& shape, std::int64_t size,
                  std::span<const FinePlace> fine);

}  // namespace isthmus::copper
