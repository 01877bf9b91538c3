// SPDX-License-Identifier: Apache-2.0
// The faults the auditor makes. It knows no list: slits along its own middle lines, emptied holes,
// splashes across its own gaps.
#pragma once

#include "tests/audit/faulty.hpp"
#include "tests/audit/places.hpp"

namespace isthmus::audit {

struct Wish {
  Nanometres cell{};           // 0: as grid_for chooses
  Nanometres step{250_um};     // between slits along a middle line
  Nanometres slit{150_um};     // width of a slit
  Nanometres widest{3_mm};     // copper wider than this is a pour, and not slit across
  Nanometres window{1270_um};  // limits.window
  Nanometres along{1_mm};      // between splashes along a facing
};

std::vector<Fault> make_slits(const Raster& raster, const Wish& wish);
// Each metal alone; then all metals of each set that ties the same two (or more) islands.
std::vector<Fault> make_emptied(const Raster& raster);
// Across every gap between two conductors, at the closest approach and along the facing.
std::vector<Fault> make_splashes(const Raster& raster, const Wish& wish);
// A slit that parts its conductor, hidden by splashes on both of its sides to one other conductor.
// None where no conductor lies within reach of both sides.
std::vector<Fault> mask(const Fault& slit, const Raster& raster, const std::vector<Fault>& splashes,
                        Faulty& scratch);

}  // namespace isthmus::audit
