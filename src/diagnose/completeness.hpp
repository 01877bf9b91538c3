// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

// Fills `untested`, `coverage` and `waived`: for every required point and every pair of groups
// whether it is tested, and if not, why. Reads the findings of `d`.
void say_what_is_tested(const Study& s, bool complete, Diagnosis& d);

}  // namespace isthmus::diagnose
