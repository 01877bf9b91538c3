// SPDX-License-Identifier: Apache-2.0
// Boolean operations on outlines. Vertices made by a crossing are rounded to the nearest nanometre.
#pragma once

#include <span>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::copper {

using Polygons = std::vector<Polygon>;

// Results are tidy (see `tidy`) and sorted by falling area, then outline.
Polygons unite(std::span<const Polygon* const> all);
Polygons subtract(const Polygon& from, std::span<const Polygon* const> what);
// What is left when `by` is taken off every edge.
Polygons erode(std::span<const Polygon> all, Nanometres by);

// Outer counter-clockwise, holes clockwise, each starting at its lowest (x, y), holes in order; no
// place twice in a row; contours without area are gone. The outer contour of an arealess polygon
// becomes empty.
Polygon tidy(Polygon polygon);

}  // namespace isthmus::copper
