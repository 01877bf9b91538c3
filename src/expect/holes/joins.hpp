// SPDX-License-Identifier: Apache-2.0
// Holes of the design, and which of them conduct at this stage.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "expect/expectation/ground.hpp"

namespace isthmus::expect {

struct Holes {
  std::vector<Join> joins;    // one a hole or slot; hits repeated at one place count once
  std::vector<bool> joined;   // plated or fitted at this stage, whatever copper it meets
  std::vector<bool> tooling;  // declared unplated, or a tooling record of the netlist lies there
};

// The legs of a hole: one entry, or all of a routed slot.
std::span<const formats::Hole> legs_of(const formats::Design& design, std::size_t hole);

bool in_span(const Ground& ground, const Join& join, std::size_t layer);

// Islands of a layer with copper within `reach` of the hole's axis, nearest to its middle first.
std::vector<IslandId> islands_along(const Ground& ground, const Join& join, std::size_t layer,
                                    Nanometres reach);

// Distance from `p` to the hole's axis (a slot's centre line).
double distance_to_axis(const formats::Design& design, const Join& join, Position p);

// Errors EXP-003: a listed join where no hole lies (nothing is said while `joins` is ignored).
Result<Holes> find_holes(const Ground& ground, Diagnostics& notes);

// The hole a record, flash or listed place means: within max(radius, 0.1 mm) of its axis, nearest
// first.
std::optional<std::size_t> hole_at(const Ground& ground, const std::vector<Join>& joins,
                                   Position p);

// Errors EXP-005: an end of a link without copper. Empty before the stage that counts links.
Result<std::vector<Link>> find_links(const Ground& ground);

}  // namespace isthmus::expect
