// SPDX-License-Identifier: Apache-2.0
// Where a place is, for eyes: from the board's corner, and beside which pad.
#pragma once

#include <functional>
#include <string>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

// From the outline's lower left corner as seen from `side` (of "bottom" from below, else from above),
// x to the right, y up.
Position from_corner(const Places& places, Position p, const std::string& side);

// The named pad whose middle is nearest: of those that `side` shows ("both" and inner layers: of all)
// if one lies within 5 mm, else of all. No pad at all: nullptr.
struct NearPad {
  const Places::Pad* pad{};  // borrows the places
  bool same_side{};
};
NearPad nearest_pad(const Places& places, Position p, const std::string& side);

// "R10.1 (0.80 mm)", "U3.4 on the top (1.10 mm)"; `length` writes a length in nm.
std::string near_in_words(const Places& places, Position p, const std::string& side,
                          const std::function<std::string(double)>& length);

}  // namespace isthmus::report
