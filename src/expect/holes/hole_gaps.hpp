// SPDX-License-Identifier: Apache-2.0
// What holes bring close: wire ends, splashes of solder, drills that wander, burrs.
#pragma once

#include <optional>
#include <vector>

#include "expect/holes/joins.hpp"

namespace isthmus::expect {

// Where the window is that wide: round every join of this stage that is not plated.
std::vector<copper::WideWindow> hand_made_places(const Ground& ground, const Holes& holes);

// Copper that the metal in a hole could touch on a layer where the hole has no pad: within the
// wander of the drill, on the outer sides of a join made by hand within kHandReach. Between the
// first island of the join and each of those; the distance is from the hole's rim.
std::vector<copper::Gap> hole_gaps(const Ground& ground, const Holes& holes);

// Nothing at other stages than etched-top and etched-bottom, and where the other side has no
// artwork: then it has no copper.
std::optional<Sheet> find_sheet(const Ground& ground, const Holes& holes);

// Every gap of the board at its stage, ascending by distance, then ids.
std::vector<copper::Gap> gaps_at_stage(const formats::Design& design, const copper::Copper& copper);

}  // namespace isthmus::expect
