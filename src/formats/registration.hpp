// SPDX-License-Identifier: Apache-2.0
// Drill files and netlist brought to the artwork's origin, unit and hand.
// docs/formats/registration.md
#pragma once

#include "isthmus/formats/design.hpp"

namespace isthmus::formats {

// DSN-018 (note), DSN-019. Moves the holes where they fit only elsewhere.
Result<Done> register_holes(Design& design, Diagnostics& notes);

// DSN-015 (note), DSN-016, DSN-017, DSN-020 (warning). Moves the records where they fit only
// elsewhere.
Result<Done> register_netlist(Design& design, Diagnostics& notes);

}  // namespace isthmus::formats
