// SPDX-License-Identifier: Apache-2.0
// Copper layers, masks and holes held against each other: a side exchanged, a layer mirrored.
// docs/formats/registration.md
#pragma once

#include "isthmus/formats/design.hpp"

namespace isthmus::formats {

// Warnings DSN-021 (copper exchanged), DSN-022 (one layer mirrored), DSN-023 (masks exchanged).
// Says something only where the places leave no other reading; changes nothing. The netlist, if
// any, is taken as filed.
void check_layers(const Design& design, Diagnostics& notes);

}  // namespace isthmus::formats
