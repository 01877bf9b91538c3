// SPDX-License-Identifier: Apache-2.0
// The middle axis of a copper outline: every place that has two nearest edges, with the width
// there.
#pragma once

#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

struct AxisPlace {
  double x{}, y{};  // nm
  double width{};   // nm, copper across at this place
};

// Straight pieces between places; the width varies linearly along each.
struct AxisEdge {
  std::size_t a{}, b{};
  std::vector<AxisPlace> between;  // further places from a to b
};

struct Axis {
  std::vector<AxisPlace> places;
  std::vector<AxisEdge> edges;  // spurs into corners are left out
  // Where the copper holds together by less than kAxisThinnest, as pairs of places and the spot
  // between them.
  struct Thread {
    std::size_t a{}, b{};
    Position at;
  };
  std::vector<Thread> threads;  // with them the axis is connected
};

inline constexpr double kAxisTrim =
    2000;  // nm taken off the outline, so that no contour touches another
inline constexpr double kAxisTolerance = 3000;  // nm by which the outline is simplified
inline constexpr double kAxisThinnest = 2 * (kAxisTrim + kAxisTolerance);

// Never empty: copper too thin for an axis gives one place. Widths are good to 2 * kAxisTolerance.
Axis middle_axis(const Island& island);

}  // namespace isthmus::copper
