// SPDX-License-Identifier: Apache-2.0
// The stretch of a track around a place, found in the fine cells.
#pragma once

#include <map>

#include "hostsim/copper/raster.hpp"

namespace isthmus::hostsim {

struct Stretch {
  std::map<std::size_t, double> share;  // how much of each cell lies in it, above 0 up to 1
  double width{};                       // cells, of the track
  double area{};                        // cells in all
};

// `length` cells of the track that runs through (x, y), half to each side, measured along the
// copper: round bends, and never over to a neighbour. Empty where no copper is.
Stretch stretch_of_track(const Grid& grid, const Cells& copper, double x, double y, double length);

}  // namespace isthmus::hostsim
