// SPDX-License-Identifier: Apache-2.0
// Disjoint sets: which of the things 0 .. n-1 hang together.
//
// Shape   A set is named by its lowest member, its root, whatever the order of the unions.
// Errors  None. REQUIRES n < 2^32, and every index < n.
// Cost    find and unite O(log n) each, averaged over many; groups O(n log n).
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace isthmus {

class Sets {
 public:
  explicit Sets(std::size_t n);

  // The root of the set that holds `i`. Shortens the way there.
  std::uint32_t find(std::size_t i) {
    while (parent_[i] != i) i = parent_[i] = parent_[parent_[i]];
    return static_cast<std::uint32_t>(i);
  }
  // The same, and leaves the ways as they are.
  [[nodiscard]] std::uint32_t find(std::size_t i) const {
    while (parent_[i] != i) i = parent_[i];
    return static_cast<std::uint32_t>(i);
  }
  // False if the two were in one set already. The lower root stays.
  bool unite(std::size_t a, std::size_t b) {
    const std::uint32_t x = find(a), y = find(b);
    if (x == y) return false;
    parent_[std::max(x, y)] = std::min(x, y);
    return true;
  }
  bool one(std::size_t a, std::size_t b) { return find(a) == find(b); }

  [[nodiscard]] std::size_t size() const { return parent_.size(); }
  // The members of each set, ascending; the sets by their root.
  [[nodiscard]] std::vector<std::vector<std::size_t>> groups() const;

 private:
  std::vector<std::uint32_t> parent_;
};

}  // namespace isthmus
