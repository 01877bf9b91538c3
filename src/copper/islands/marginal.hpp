// SPDX-License-Identifier: Apache-2.0
// Places where less than a micrometre decides whether copper is joined.
#pragma once

#include <span>
#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

// Of the islands of one layer, which are islands[first] to islands[last - 1].
std::vector<Marginal> find_marginals(std::span<const Island> islands, std::size_t first,
                                     std::size_t last);

}  // namespace isthmus::copper
