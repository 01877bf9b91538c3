// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <vector>

namespace isthmus::copper {

// Disjoint sets over 0 .. n-1. The result does not depend on the order of the unions.
class Sets {
 public:
  explicit Sets(std::size_t n) : parent_(n) { std::iota(parent_.begin(), parent_.end(), 0u); }
  std::size_t find(std::size_t i) {
    while (parent_[i] != i) i = parent_[i] = parent_[parent_[i]];
    return i;
  }
  void unite(std::size_t a, std::size_t b) {
    a = find(a), b = find(b);
    parent_[std::max(a, b)] = std::min(a, b);
  }
  // Each ascends; by first member.
  std::vector<std::vector<std::size_t>> groups() {
    std::vector<std::vector<std::size_t>> out;
    std::vector<std::size_t> group_of(parent_.size());
    for (std::size_t i = 0; i < parent_.size(); ++i) {
      const std::size_t root = find(i);
      if (root == i) {
        group_of[i] = out.size();
        out.emplace_back();
      }
      out[group_of[root]].push_back(i);
    }
    return out;
  }

 private:
  std::vector<std::size_t> parent_;
};

}  // namespace isthmus::copper
