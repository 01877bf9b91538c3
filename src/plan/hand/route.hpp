// SPDX-License-Identifier: Apache-2.0
// Short ways of a needle over the board.
#pragma once

#include <optional>

#include "plan/hand/demand.hpp"

namespace isthmus::plan::hand {

// Distance; a turn of the board counts as a long way. nm.
double travel(const Place& a, const Place& b);

// One side after the other, each by nearest neighbours, then 2-opt and or-opt of an open way from
// `from`; the side it lies on comes first. Source: docs/guide.md.
std::vector<Place> route(std::vector<Place> places, const std::optional<Place>& from);

}  // namespace isthmus::plan::hand
