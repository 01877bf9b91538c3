// SPDX-License-Identifier: Apache-2.0
// What the clips of a round touch, and between which places their presence says nothing.
#pragma once

#include "isthmus/base/sets.hpp"
#include "isthmus/plan/hand.hpp"

namespace isthmus::plan::hand {

// One node that a clip touches.
struct Tip {
  std::uint32_t node{};
  std::size_t clip{};
  bool one_side{};  // of a clip that ties two: it counts only between needles that conducted to it
};

// The wiring as it is while these clips sit.
class Seat {
 public:
  Seat(const expect::Board& board, const std::vector<HandClip>& clips);

  [[nodiscard]] const std::vector<Tip>& tips() const { return tips_; }
  // Whether "these two conduct" is said by copper, and not by what a clip ties.
  [[nodiscard]] bool says(std::uint32_t a, std::uint32_t b) const {
    return parts_.find(a) == parts_.find(b) && !bypassed_[parts_.find(a)];
  }

 private:
  void mark_bypassed(const std::vector<std::pair<std::uint32_t, std::uint32_t>>& ties);

  std::vector<Tip> tips_;
  Sets parts_;                  // of nodes that hang together without the holes that clips bridge
  std::vector<bool> bypassed_;  // by root: a clip leads round its copper
};

}  // namespace isthmus::plan::hand
