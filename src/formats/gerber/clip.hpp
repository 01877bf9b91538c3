// SPDX-License-Identifier: Apache-2.0
// Boolean operations on polygons for the Gerber reader. Results follow geometry.hpp: outer contours
// counter-clockwise, holes clockwise; islands inside holes are polygons of their own.
// REQUIRES all coordinates within +-4e9 nm. A vertex made by a crossing is rounded to the grid.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::formats::gerber {

using Polygons = std::vector<Polygon>;

// One operation of the library underneath, which may give up: then it is tried again in halves, and
// with vertices moved by up to 2 nm. Parameters of this type are there for tests that let it.
enum class ClipKind { unite, subtract };
using Clip = std::function<std::optional<Polygons>(ClipKind, const Polygons&, const Polygons&)>;
std::optional<Polygons> clip_once(ClipKind kind, const Polygons& subject, const Polygons& other);

// The area that one contour winds around at least once, either way (non-zero rule). A contour that
// touches itself, as cut-ins do, gives holes.
Polygons fill(const Contour& contour, const Clip& clip = clip_once);

// Every input must follow geometry.hpp on its own; they may overlap each other.
Polygons unite(const Polygons& all, const Clip& clip = clip_once);
Polygons subtract(const Polygons& from, const Polygons& what, const Clip& clip = clip_once);

}  // namespace isthmus::formats::gerber
