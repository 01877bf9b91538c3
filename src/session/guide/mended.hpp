// SPDX-License-Identifier: Apache-2.0
// What the iron or the knife came near while a finding was mended.
#pragma once

#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/expect/board.hpp"

namespace isthmus::session {

// All points of the finding's nets, and of all copper within 5 mm of its suspects, on either side
// (common practice, no source: hot solder and flux go no farther).
//
// Shape   ascending.
std::vector<PointId> near_mended(const expect::Board& board, const diagnose::Finding& finding);

}  // namespace isthmus::session
