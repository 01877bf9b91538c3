// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// What the placements of a plan cannot prove, whatever the readings: points without copper or
// probe, nets that no placement ties together (a hole touched from both sides in turn ties nothing:
// sides_hang_together), pairs of groups that never meet.
std::vector<Untested> out_of_reach(const expect::Board& board,
                                   const std::vector<Placement>& placements);

// Whether a group has a point that is required and not waived: others need not be tested.
bool matters(const expect::Board& board, GroupId g);

}  // namespace isthmus::plan
