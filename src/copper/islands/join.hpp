// SPDX-License-Identifier: Apache-2.0
// Which pieces of copper hang together. Decided exactly on the pieces as drawn, before any
// rounding.
#pragma once

#include <vector>

#include "copper/islands/clip.hpp"

namespace isthmus::copper {

// Groups of places in `pieces` that overlap or touch (a shared edge or a single point is enough),
// directly or through others. Each group ascends; groups by their first member.
std::vector<std::vector<std::size_t>> join_pieces(const Polygons& pieces);

}  // namespace isthmus::copper
