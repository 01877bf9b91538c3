// SPDX-License-Identifier: Apache-2.0
// Which copper of one side is a point's own pad, as far as the artwork shows.
#pragma once

#include <vector>

#include "isthmus/base/by_left_edge.hpp"
#include "isthmus/expect/board.hpp"

namespace isthmus::plan {

// One piece of a flashed or drawn object.
struct Pad {
  const Polygon* shape{};
  Box box;
  bool plain{false};  // the whole object, and no hole drawn in it
};

// Borrows the board.
class Pads {
 public:
  Pads(const expect::Board& board, Side side);

  [[nodiscard]] std::size_t layer() const { return layer_; }
  // The smallest flash at a place; nothing where none lies.
  [[nodiscard]] const Pad* flash_at(Position p) const;
  // True when a tip at `place` stands on the point's pad: the flash there; else the stroke or
  // region of the pad's size that lies centred there (a pad painted instead of flashed); else, where
  // the artwork shows no pad, the circle of the pad's smaller extent, at least 0.1 mm all round. A
  // hole in the pad counts as pad: the tip stands on its ring.
  [[nodiscard]] bool on_pad_of(const expect::Point& point, Position place) const;

 private:
  [[nodiscard]] bool on_painted_pad(const expect::Point& point, Position place) const;

  const expect::Board& board_;
  std::size_t layer_{};
  ByLeftEdge<Pad> flashes_;
};

}  // namespace isthmus::plan
