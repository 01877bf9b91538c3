// SPDX-License-Identifier: Apache-2.0
// Where to look: places on the board for a finding, ranked.
#pragma once

#include "isthmus/diagnose/diagnosis.hpp"

namespace isthmus::diagnose {

// For a net that fell into `parts` (two or more): the breaks that separate each part from the
// others.
std::vector<Suspect> open_suspects(const expect::Board& board,
                                   const std::vector<std::vector<PointId>>& parts);

// For groups that conduct and must not: every place where two of them come within the window, by
// critical area, closer than the process can hold first.
std::vector<Suspect> bridge_suspects(const expect::Board& board,
                                     const std::vector<GroupId>& groups);

// For a stretch of too much resistance between two sets of points.
std::vector<Suspect> neck_suspects(const expect::Board& board, const std::vector<PointId>& near,
                                   const std::vector<PointId>& far);

}  // namespace isthmus::diagnose
