// SPDX-License-Identifier: Apache-2.0
// Holes and jumpers of a design: what is drilled away, and what conducts at the stage
// (docs/formats/board.md, read anew).
#pragma once

#include "tests/audit/raster.hpp"

namespace isthmus::audit {

std::vector<Drilled> find_drilled(const formats::Design& design);
void drill(const Grid& grid, const Drilled& hole, std::vector<Bitmap>& copper);
// Copper at the rim of each hole, by layer; REQUIRES runs.
void find_rims(const formats::Design& design, Raster& raster);
// Joins and links of the stage; REQUIRES rims.
void put_metal_in(const formats::Design& design, Raster& raster);

}  // namespace isthmus::audit
