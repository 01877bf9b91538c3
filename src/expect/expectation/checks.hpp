// SPDX-License-Identifier: Apache-2.0
// What a board description may get wrong about its own files.
#pragma once

#include <set>
#include <vector>

#include "expect/points/points.hpp"

namespace isthmus::expect {

Problem no_points(const Ground& ground);  // EXP-008

// EXP-001: less than 90 % of the netlist's pads lie on copper. EXP-009: a netlist that was moved to
// fit puts different nets on one piece of copper at most of its points.
Result<Done> check_origin(const Ground& ground, const std::vector<Pad>& pads);

// EXP-002: a waived name that no pad of the design has; `unlisted` are the names of those that the
// netlist does not know. A pad the stage does not have is warned of (EXP-022).
Result<Done> waive_points(const Ground& ground, const std::vector<Pad>& pads,
                          const std::set<std::string>& unlisted, std::vector<Point>& points,
                          Diagnostics& notes);

// EXP-023: a net tie names a net that is not there.
void note_unknown_ties(const Ground& ground, const std::vector<Point>& points, Diagnostics& notes);

// Names like `id`, best first, at most three: "did you mean".
std::vector<std::string> names_near(const std::vector<std::string>& names, const std::string& id);

}  // namespace isthmus::expect
