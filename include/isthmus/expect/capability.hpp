// SPDX-License-Identifier: Apache-2.0
// Where a board asks more than the process is said to hold: to be read before the resist is
// printed.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "isthmus/expect/board.hpp"

namespace isthmus::expect {

enum class ShortfallKind { gap, track, ring };
std::string_view name(ShortfallKind k);  // "gap", "track", "ring"

struct Shortfall {
  ShortfallKind kind{};
  Position at;                    // closest approach, narrowest place, middle of the hole
  std::string side;               // "top", "bottom", "L2"
  std::vector<std::string> nets;  // of a gap both, sorted
  Nanometres drawn{};   // as the artwork has it; of a ring below 0 where the hole leaves it
  Nanometres needed{};  // process.gap, process.track; of a ring below
  Nanometres length{};  // facing length of a gap, length of narrow track
  bool operator==(const Shortfall&) const = default;
};

// Gaps between different nets under process.gap; stretches of copper that points lie on under
// process.track; rings of copper round holes under what drilling leaves of them. A hole wanders by
// process.drill_wander; on a board of two sides the second side's artwork is laid by the holes of
// the first, by process.registration at best, and nobody knows which side is second: the larger of
// the two is needed on both.
//
// Shape   where drawn / needed is smallest comes first, then kind and place.
// Units   Nanometres; gaps and rings exact to 2 um, tracks to 6 um: what is nearer is not named.
std::vector<Shortfall> shortfalls(const Board& board);

}  // namespace isthmus::expect
