// SPDX-License-Identifier: Apache-2.0
// Shortfalls as people read them.
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/expect/capability.hpp"

namespace isthmus::report {

// "gap 0.150 mm, needs 0.200 mm: at (1.00, 2.00) mm top"
std::string in_words(const expect::Shortfall& s);
std::string what_may_happen(const expect::Shortfall& s);

// Those of one kind that are drawn and needed alike, to a hundredth of a millimetre: the first stands for all,
// with how many they are.
std::vector<std::pair<const expect::Shortfall*, std::size_t>> alike(
    const std::vector<expect::Shortfall>& all);

}  // namespace isthmus::report
