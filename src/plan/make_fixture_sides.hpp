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
// cut the points of the other apart, or when one piece of copper (an inner plane) must have carried
// current for both. True when either list is empty.
bool sides_hang_together(const expect::Board& board, GroupId group,
                         const std::vector<PointId>& from_top,
                         const std::vector<PointId>& from_bottom);

// What is touched of one group from either side.
struct Sides {
  std::vector<PointId> top, bottom;  // ascending
};
// Adds as few of `holes` (points reachable from both sides) as it takes for both sides to be
// touched and hang together: one, two on one side, one on both, else all of them. Where even that
// proves nothing, the first alone is added on both sides: the plan must say that they are not
// proven to hang together.
Sides tie_sides(const expect::Board& board, GroupId group, const Sides& laid,
                const std::vector<PointId>& holes);

}  // namespace isthmus::plan
