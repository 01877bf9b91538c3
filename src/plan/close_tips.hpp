// SPDX-License-Identifier: Apache-2.0
// Tips of one placement that are in each other's way.
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// PLN-103, one warning a placement: holes of a made fixture with less than the plate's wall between
// them.
void warn_of_thin_walls(const formats::FixtureFile& fixture, Diagnostics& notes);

// PLN-008, one warning a placement: tips on different points closer than a tip's diameter. They
// touch, and what they read then looks like a bridge, or hides an open.
void warn_of_touching_tips(const expect::Board& board, const formats::FixtureFile& fixture,
                           const std::vector<Placement>& placements, Diagnostics& notes);

}  // namespace isthmus::plan
