// SPDX-License-Identifier: Apache-2.0
// The holes that can be joined, by what they are for, and what the description says of each.
#pragma once

#include <string>
#include <vector>

#include "isthmus/expect/board.hpp"
#include "isthmus/formats/hole_groups.hpp"

namespace isthmus::report {

struct HoleRow {
  formats::GroupedHole hole;
  Nanometres diameter{};
  std::string join;  // "none", "deferred", or what joins it: "wire", "plated"...
};
std::vector<HoleRow> hole_rows(const expect::Board& board);

// A line a hole, under a line a group.
std::string holes_text(const expect::Board& board);

}  // namespace isthmus::report
