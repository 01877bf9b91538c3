// SPDX-License-Identifier: Apache-2.0
// Names of pads and nets, as large as they fit on their copper.
#pragma once

#include <string>
#include <vector>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

// A name on the board, in mm as the view shows it: mirrored from below, y down.
struct NameOnBoard {
  double x{}, y{};
  double height{};   // of the type
  double degrees{};  // turned clockwise; within -90 and 90, so that it is read from below or right
  std::string text;
};

// On pads their names, and their nets where both fit; along the longest straight track of each
// island its net. What would be smaller than 0.06 mm is left out.
std::vector<NameOnBoard> names_on(const expect::Board& board, bool below);

// In groups of one height, <g class="names" data-mm="0.3">, "fine" those that would be smaller
// than 7 px: a zoomed picture shows more.
std::string names_svg(const std::vector<NameOnBoard>& names, bool below, double mm_per_px);

// By island; "#<island>" for copper without points.
std::vector<std::string> nets_of_islands(const expect::Board& board);

}  // namespace isthmus::report
