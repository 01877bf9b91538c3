// SPDX-License-Identifier: Apache-2.0
// Looking out from the outlines of islands, step by step: what lies across the gap.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <utility>
#include <vector>

#include "copper/index/layer.hpp"
#include "isthmus/copper/gaps.hpp"

namespace isthmus::copper {

// A place as a double, for averaging before it is rounded.
struct Spot {
  double x{}, y{};
};
Position rounded(Spot s);

// Two places across a gap.
struct Across {
  double distance_nm{};
  Spot here, there;
};

// What a short stretch of an outline sees of one other island.
struct View {
  std::uint32_t step{};     // number of the stretch along its contour
  std::uint32_t contour{};  // counted through the layer
  bool shielded{false};     // a third island lies between
  double length_nm{};       // of the stretch
  double squareness{};      // cosine between the way across and the stretch's normal
  Across from_middle;       // seen from the middle of the stretch
  Across nearest;           // anywhere on the stretch
};

// All views of one island by another; the looking island is the one with the shorter outline. Of
// its own copper `nearest` says nothing.
struct Sight {
  std::vector<View> views;  // by contour, then step
  Across nearest;           // whatever the direction; infinite where nothing is within the window
};

// By {looking island, seen island}, places in Copper::islands.
using Sights = std::map<std::pair<std::uint32_t, std::uint32_t>, Sight>;

struct Looking {
  double window_nm{};
  double step_nm{};  // longest stretch
  std::span<const WideWindow> wide;
  const std::vector<bool>* own{};  // where given: of these islands each sees itself alone
};

// Steps in each contour follow each other around it: `steps[contour]` is how many there are.
struct Seen {
  Sights sights;
  std::vector<std::uint32_t> steps;
};
Seen look_across(std::span<const Island> islands, const LayerEdges& edges, const Looking& how);

}  // namespace isthmus::copper
