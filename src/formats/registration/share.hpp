// SPDX-License-Identifier: Apache-2.0
// How well the files of a loaded design lie on each other, and what they miss.
#pragma once

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/import.hpp"

namespace isthmus::formats {

std::vector<FitShare> fit_shares(const Design& design);

// Warnings IMP-029 (holes that netlist or pads call for) and IMP-030 (copper of a side).
void note_missing(const Design& design, Diagnostics& notes);

}  // namespace isthmus::formats
