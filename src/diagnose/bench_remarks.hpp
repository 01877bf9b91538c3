// SPDX-License-Identifier: Apache-2.0
// What stands beside the verdict about bench, copper and waivers.
#pragma once

#include <string>
#include <vector>

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

// A thickness that the readings contradict; from how much on high resistance is noticed; tips that
// touch badly; what waivers leave unseen. Reads states of `d`.
std::vector<std::string> bench_remarks(const Study& s, const Diagnosis& d);

}  // namespace isthmus::diagnose
