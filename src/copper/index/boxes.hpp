// SPDX-License-Identifier: Apache-2.0
// Which of many boxes overlap a box: a packed tree, built once.
#pragma once

#include <span>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::copper {

class BoxIndex {
 public:
  explicit BoxIndex(std::span<const Box> boxes);  // empty boxes are never found
  // Places in `boxes`, ascending. Touching counts.
  [[nodiscard]] std::vector<std::size_t> overlapping(const Box& box) const;

 private:
  void collect(std::size_t level, std::size_t node, const Box& box,
               std::vector<std::size_t>& found) const;

  std::vector<std::size_t> ids_;  // by leaf
  std::vector<std::vector<Box>>
      levels_;  // [0] the leaves; each further level bounds kFanOut of the one below
};

}  // namespace isthmus::copper
