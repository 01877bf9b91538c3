// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/router.hpp"

namespace isthmus::random_boards {

Grid::Grid(int nx, int ny, double pitch)
    : nx_(nx),
      ny_(ny),
      pitch_(pitch),
      free_(static_cast<std::size_t>(nx * ny * 2), true),
      node_(static_cast<std::size_t>(nx * ny * 2), kNone) {}

std::size_t Grid::at(Cell c) const {
  return c.layer * static_cast<std::size_t>(nx_ * ny_) + static_cast<std::size_t>(c.j * nx_ + c.i);
}

Cell Grid::cell(std::size_t n) const {
  const auto area = static_cast<std::size_t>(nx_ * ny_);
  const int in_layer = static_cast<int>(n % area);
  return {in_layer % nx_, in_layer / nx_, n / area};
}

bool Grid::inside(Cell c) const { return c.i >= 0 && c.j >= 0 && c.i < nx_ && c.j < ny_; }

bool Grid::is_free(Cell c, int nx, int ny, bool both) const {
  for (int i = c.i; i < c.i + nx; ++i) {
    for (int j = c.j; j < c.j + ny; ++j) {
      if (!is_free({i, j, c.layer}) || (both && !is_free({i, j, 1 - c.layer}))) return false;
    }
  }
  return true;
}

void Grid::take(Cell c, std::size_t node) {
  free_[at(c)] = false;
  node_[at(c)] = node;
}

Pt Grid::place(Cell c) const { return {5 + pitch_ * c.i, 5 + pitch_ * c.j}; }

}  // namespace isthmus::random_boards
