// SPDX-License-Identifier: Apache-2.0
// Boolean operations on polygons for the Gerber reader. Results follow geometry.hpp: outer contours
// counter-clockwise, holes clockwise; islands inside holes are polygons of their own.
// REQUIRES all coordinates within +-4e9 nm. A vertex made by a crossing is rounded to the grid.
#pragma once

#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::formats::gerber {

using Polygons = std::vector<Polygon>;

// The area that one contour winds around at least once, either way (non-zero rule). A contour that
// touches itself, as cut-ins do, gives holes.
Polygons fill(const Contour& contour);

// Every input must follow geometry.hpp on its own; they may overlap each other.
Polygons unite(const Polygons& all);
Polygons subtract(const Polygons& from, const Polygons& what);

}  // namespace isthmus::formats::gerber
