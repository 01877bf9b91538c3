// SPDX-License-Identifier: Apache-2.0
// From single views to stretches along which two islands face each other.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "copper/gaps/sample.hpp"
#include "isthmus/copper/gaps.hpp"

namespace isthmus::copper {

// The facings of one pair, ascending by distance, then place; `on_a` is on the looking island.
// `steps` is the number of steps of each contour of the layer.
std::vector<Facing> facings_of(const Sight& sight, std::span<const std::uint32_t> steps);

}  // namespace isthmus::copper
