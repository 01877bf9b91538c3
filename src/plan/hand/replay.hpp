// SPDX-License-Identifier: Apache-2.0
// What each touch of a plan settles.
#pragma once

#include "plan/hand/landings.hpp"

namespace isthmus::plan::hand {

// Fills `excludes` and `likelihood` of all touches, and gives the entries that stay untold.
std::vector<expect::EntryId> replay(const expect::Board& board, const HandMeans& means,
                                    std::vector<Round>& rounds);

}  // namespace isthmus::plan::hand
