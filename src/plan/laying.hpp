// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Takes a placement as it should lie and gives the wrong layings (shifted by 1 to 3 pitches of its
// own probes along x or y, turned by 180 degrees, flipped about either axis through its middle)
// under which every reading would come out as expected: all tips on copper, the probes of each
// group on one piece, groups that must be isolated on pieces that do not conduct to each other.
std::vector<std::string> indistinguishable_layings(const expect::Board& board,
                                                   const Placement& placement);

}  // namespace isthmus::plan
