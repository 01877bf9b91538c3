// SPDX-License-Identifier: Apache-2.0
// A quick way to fill what real files hold most: contours that are simple once their cut-ins are
// taken out. General clipping takes time in proportion to the square of the number of cut-ins.
#pragma once

#include <optional>

#include "formats/gerber/clip.hpp"

namespace isthmus::formats::gerber {

// The same area as fill(); nothing when edges still cross, touch or overlap after edges that are
// passed once each way have been removed.
std::optional<Polygons> fill_simple(const Contour& contour);

// More than a million pairs of crossing edges: general clipping would not end in useful time.
bool crosses_too_often(const Contour& contour);

}  // namespace isthmus::formats::gerber
