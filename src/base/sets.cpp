// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/sets.hpp"

#include <numeric>

#include "isthmus/base/ensure.hpp"

namespace isthmus {

Sets::Sets(std::size_t n) : parent_(n) {
  ENSURE(n <= UINT32_MAX);
  std::iota(parent_.begin(), parent_.end(), 0U);
}

std::vector<std::vector<std::size_t>> Sets::groups() const {
  std::vector<std::vector<std::size_t>> out;
  std::vector<std::size_t> group_of(parent_.size());
  for (std::size_t i = 0; i < parent_.size(); ++i) {
    const std::size_t root = find(i);
    if (root == i) {
      group_of[i] = out.size();
      out.emplace_back();
    } else {
      group_of[i] = group_of[root];
    }
    out[group_of[i]].push_back(i);
  }
  return out;
}

}  // namespace isthmus
