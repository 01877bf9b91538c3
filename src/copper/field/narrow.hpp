// SPDX-License-Identifier: Apache-2.0
// Places that all current between two parts of an island must pass and that are far narrower than
// the island's other copper: cracks, nicks, necks. A field needs smaller cells there.
#pragma once

#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::copper {

struct NarrowPlace {
  Position tip;    // a corner that points into the copper
  double width{};  // nm, from the tip to the nearest outline across the copper
};

// Narrower than `width` (nm), narrowest first, one for each corner or rounded tip. A place that
// the copper also leads round is none: cut through between the tip and the outline across, the
// shape falls in two, and either part has at least half the area of a square of that width.
std::vector<NarrowPlace> narrow_places(const std::vector<Polygon>& shape, double width);

// Corners that point into the copper by more than 50 degrees.
std::vector<Position> inner_corners(const std::vector<Polygon>& shape);

}  // namespace isthmus::copper
