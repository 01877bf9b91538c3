// SPDX-License-Identifier: Apache-2.0
// What to do where the files do not say which of them is copper.
#pragma once

#include <vector>

#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

// IMP-006, with the Gerber files that say nothing, what each of them holds, and the lines to write.
Problem no_copper(const std::vector<Recognised>& files);

}  // namespace isthmus::formats
