// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "diagnose/findings.hpp"
#include "diagnose/laid_wrongly.hpp"

namespace isthmus::diagnose {

// Fills `untested`, `coverage` and `waived`: for every required point and every pair of groups
// whether it is tested, and if not, why. Reads the findings of `d`. `s` lacks the readings of the
// placements in `suspicions`; what only they could have shown is doubtful.
void say_what_is_tested(const Study& s, const std::vector<Suspicion>& suspicions, bool complete,
                        Diagnosis& d);

}  // namespace isthmus::diagnose
