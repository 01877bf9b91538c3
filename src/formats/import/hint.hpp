// SPDX-License-Identifier: Apache-2.0
// What to do where the files do not say which of them is copper.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

// IMP-006, with the Gerber files that say nothing, what each of them holds, and the lines to write.
Problem no_copper(const std::vector<Recognised>& files);

// The Gerber file that no name and no text tells, and that has tracks, and pads around nine in ten
// holes: it may be copper that would be left out.
struct LikeCopper {
  const Recognised* file;
  std::size_t tracks{}, pads{}, holes{}, of{};
};
std::optional<LikeCopper> like_copper(const std::vector<Recognised>& files);

}  // namespace isthmus::formats
