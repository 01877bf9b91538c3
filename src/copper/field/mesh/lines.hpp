// SPDX-License-Identifier: Apache-2.0
// Where the lines of a grid lie along one axis: evenly, or closer round places that need it.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace isthmus::copper {

// Cells no wider than `size` at this place; away from it they may grow by a quarter of the
// distance.
struct FineLine {
  double at{};    // nm
  double size{};  // nm, > 0
};

class MeshLines {
 public:
  MeshLines() = default;
  // No cell wider than `size`, and as `fine` wants; from `begin` past `end`. Even where `fine` is
  // empty. REQUIRES size > 0.
  static MeshLines graded(double begin, double end, double size, std::span<const FineLine> fine);

  [[nodiscard]] std::int32_t cells() const { return static_cast<std::int32_t>(at_.size()) - 1; }
  [[nodiscard]] double line(std::int32_t k) const { return at_[static_cast<std::size_t>(k)]; }
  [[nodiscard]] double width(std::int32_t cell) const { return line(cell + 1) - line(cell); }
  [[nodiscard]] double middle(std::int32_t cell) const { return (line(cell) + line(cell + 1)) / 2; }
  // The cell that holds v; -1 or cells() where v lies off the grid.
  [[nodiscard]] std::int32_t cell_of(double v) const;
  // The narrowest cell that reaches into [from, to]; the nearest to it where none does.
  [[nodiscard]] double narrowest(double from, double to) const;

 private:
  static MeshLines even(double begin, double end, double size);

  std::vector<double> at_;  // ascending
  double even_{};           // the spacing where it is the same everywhere, else 0
};

}  // namespace isthmus::copper
