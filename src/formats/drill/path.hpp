// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::formats {

// Places along an arc after `from`, ending at `to`; chords stay within 2 um of it. Nothing when no
// such arc exists (the radius does not reach, the centre is not equally far from both ends within
// 20 um).
struct RoutedArc {
  Position from, to;
  bool clockwise{};
};
std::optional<std::vector<Position>> arc_by_radius(const RoutedArc& arc, Nanometres radius);
std::optional<std::vector<Position>> arc_by_centre(const RoutedArc& arc, Position centre);

}  // namespace isthmus::formats
