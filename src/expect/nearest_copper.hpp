// SPDX-License-Identifier: Apache-2.0
// Where the copper is that somebody meant: for hints.
#pragma once

#include <string>

#include "isthmus/copper/islands.hpp"

namespace isthmus::expect {

// "the nearest copper of the bottom side lies at [1.000, 2.000], 0.120 mm away"; for inner layers
// "... of layer L2". Looks at every outline of the layer.
std::string nearest_copper_in_words(const copper::Copper& copper, LayerId layer, Position p);

}  // namespace isthmus::expect
