// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// What the placements of a plan cannot prove, whatever the readings: points without copper or
// probe, and entries of the list that facts of a good board leave open.
std::vector<Untested> out_of_reach(const expect::Board& board,
                                   const std::vector<Placement>& placements,
                                   const expect::Derived& derived,
                                   const std::vector<bool>& no_touch);
// The same, with both derived: `derived` from the facts of a good board, and what no touch tells
// (expect::told_by_no_touch).
std::vector<Untested> out_of_reach(const expect::Board& board,
                                   const std::vector<Placement>& placements, bool contact_check);

}  // namespace isthmus::plan
