// SPDX-License-Identifier: Apache-2.0
// Drill files and netlist brought to the artwork's origin, unit and hand.
// docs/formats/registration.md
#pragma once

#include "formats/registration/fit.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::formats {

// What the records ask of the artwork; those of sides that the board does not have ask nothing.
std::vector<FitPoint> netlist_points(const Design& design);

// Points on a place of their kind, or on drawn copper of it (a hole of a pad counts as copper).
std::size_t on_pad_or_copper(const std::vector<FitPoint>& points, const Design& design);

// DSN-018 (note; a warning where it takes a mirror), DSN-019. Moves the holes where they fit only
// elsewhere.
Result<Done> register_holes(Design& design, Diagnostics& notes);

// DSN-015 (likewise), DSN-016, DSN-017, DSN-020 (warning), DSN-021. Moves the records where they
// fit only elsewhere.
Result<Done> register_netlist(Design& design, Diagnostics& notes);

}  // namespace isthmus::formats
