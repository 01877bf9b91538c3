// SPDX-License-Identifier: Apache-2.0
// Shortfalls as people read them.
#pragma once

#include <string>

#include "isthmus/expect/capability.hpp"

namespace isthmus::report {

// "gap 0.150 mm, needs 0.200 mm: at (1.00, 2.00) mm top"
std::string in_words(const expect::Shortfall& s);
std::string what_may_happen(const expect::Shortfall& s);

}  // namespace isthmus::report
