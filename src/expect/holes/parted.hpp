// SPDX-License-Identifier: Apache-2.0
// Holes that are drilled right through their copper.
#pragma once

#include <vector>

#include "expect/holes/joins.hpp"

namespace isthmus::expect {

// Warns (EXP-026) of round holes that nothing fills at this stage and that are as wide as the copper
// they lie on, or wider, and so part points of one net. Each hole alone; slots are not looked at.
// Needs the ground's conductors.
void warn_of_parting_holes(const Ground& ground, const Holes& holes,
                           const std::vector<Point>& points, Diagnostics& notes);

}  // namespace isthmus::expect
