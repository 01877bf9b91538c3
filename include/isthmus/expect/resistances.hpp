// SPDX-License-Identifier: Apache-2.0
// What every net should measure, before there is a board: the longest way through each.
#pragma once

#include <functional>
#include <vector>

#include "isthmus/expect/board.hpp"

namespace isthmus::expect {

struct NetResistance {
  GroupId group{};
  PointId from{}, to{};  // of all pairs looked at, the one with the greatest resistance
  copper::Predicted predicted;
};

// Both ends are touched by tips of this diameter, on the top side where there is one. The farthest
// point from the group's first is found, then the farthest from that: exact where the copper is a
// tree, else at least half of the greatest (resistance is a metric). `progress(done, of)` may be
// empty.
//
// Shape   one entry a group that has two points or more with copper to touch, descending by
//         resistance.
// Cost    two questions of the field for each point, and one factorisation a group, held until the
//         next.
std::vector<NetResistance> net_resistances(
    const Board& board, Nanometres tip,
    const std::function<void(std::size_t done, std::size_t of)>& progress);

}  // namespace isthmus::expect
