// SPDX-License-Identifier: Apache-2.0
// The holes that can join copper, by what they are for.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/formats/design.hpp"

namespace isthmus::formats {

std::string_view name(HoleGroup g);  // "via", "component", "lead"

struct GroupedHole {
  std::size_t hole{};  // index into Design::holes; of a routed slot its first leg
  Position at;
  HoleGroup group{};
  std::string point;  // "J1.1", "VIA"; empty where neither netlist nor artwork name it
};

// Holes with copper on two layers or more. Those said to be unplated, and tooling holes of the
// netlist, are none.
//
// Shape   by group, then in the order of the drill files.
// Method  A via is what the netlist or the artwork calls one, and a hole up to 0.5 mm that none of
//         the two names (common practice, no source). A lead's hole has other copper than its own
//         pad on one layer at most, as drawn: what a clearance would part again counts as copper.
std::vector<GroupedHole> grouped_holes(const Design& design);

// The entries that `joins: {vias: ..., components: ..., leads: ...}` stands for.
std::vector<JoinEntry> joins_of_groups(const Design& design);

}  // namespace isthmus::formats
