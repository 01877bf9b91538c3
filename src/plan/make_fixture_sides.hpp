// SPDX-License-Identifier: Apache-2.0
// What readings from one side at a time say of copper on two.
#pragma once

#include <vector>

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Points of one group, of which those touched from the top were found to conduct to each other, and
// those touched from the bottom to each other. Does it follow that all conduct? Touching both ends
// of a hole, one after the other, says nothing of the join in it: only current that must have run
// through the other side's copper does. True when taking away the copper touched on one side would
// cut the points of the other apart. True when either list is empty.
bool sides_hang_together(const expect::Board& board, GroupId group,
                         const std::vector<PointId>& from_top,
                         const std::vector<PointId>& from_bottom);

}  // namespace isthmus::plan
