// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "diagnose/batch.hpp"

namespace isthmus::diagnose {

// What the readings so far leave in doubt in `placement`: repeats of doubtful readings, isolation
// of fragments once an open is known, halving of a failed isolation step down to pairs, the
// resistance of a bridge. Empty when satisfied. Without ids.
std::vector<plan::Step> wanted_steps(const SoFar& so_far, std::size_t placement);

}  // namespace isthmus::diagnose
