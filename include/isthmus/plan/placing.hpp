// SPDX-License-Identifier: Apache-2.0
// Where the artwork really lies on the board, from marks a person measured: a printer stretches, a
// film slips.
#pragma once

#include <array>
#include <span>

#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::plan {

// x' = x0 + xx x + xy y, y' = y0 + yx x + yy y; nanometres. As made: nothing moved.
struct Placing {
  double xx{1}, xy{0}, yx{0}, yy{1}, x0{0}, y0{0};
  std::size_t marks{};
  double worst_nm{};  // of all marks: how far from where this puts it
  [[nodiscard]] Position operator()(Position p) const;
  [[nodiscard]] double stretch_x() const;  // 1: true to size
  [[nodiscard]] double stretch_y() const;
  [[nodiscard]] double turn() const;  // radians, counterclockwise
  [[nodiscard]] bool moved() const { return marks > 0; }
};

// marks: {place in the artwork, place measured}. One mark: a shift. Two, or more in one line:
// shift, turn and one scale, least squares. Three or more else: any affine map, least squares.
//
// Errors  PLN-110 where the marks cannot be right: two in one place, mirrored, stretched or sheared
//         by more than 5 %, or one farther than 0.5 mm from where the others put it.
Result<Placing> placing_of(std::span<const std::array<Position, 2>> marks);

}  // namespace isthmus::plan
