// SPDX-License-Identifier: Apache-2.0
// The middle lines of painted copper, by thinning: where a slit can part it.
#pragma once

#include "tests/audit/grid.hpp"

namespace isthmus::audit {

// Cells, as a set bitmap: one cell wide lines that hang together as the copper does.
Bitmap skeleton_of(const Grid& grid, const Bitmap& copper);

// Distance to the nearest cell that is not set, in tenths of a cell (chamfer 10, 14: within 8 %).
std::vector<std::uint16_t> depth_of(const Grid& grid, const Bitmap& copper);

}  // namespace isthmus::audit
