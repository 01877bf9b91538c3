// SPDX-License-Identifier: Apache-2.0
// The fewest divisions of a list in two that part each two of its members.
#pragma once

#include <cstddef>
#include <vector>

namespace isthmus {

// Of one bit: the members whose number has a 0 there, and a 1.
template <class T>
struct Sides {
  std::vector<T> zeros, ones;
};

// Each two of `all` are on different sides of at least one.
//
// Shape   ceil(log2 n) divisions, by the bits of the members' numbers in the list, the lowest first;
//         none of fewer than two. Both sides in the order of the list, neither empty.
// Source  Kautz, 1974.
template <class T>
std::vector<Sides<T>> by_binary_words(const std::vector<T>& all) {
  std::vector<Sides<T>> list;
  for (std::size_t bit = 1; bit < all.size(); bit *= 2) {
    Sides<T>& sides = list.emplace_back();
    for (std::size_t i = 0; i < all.size(); ++i)
      ((i & bit) != 0 ? sides.ones : sides.zeros).push_back(all[i]);
  }
  return list;
}

}  // namespace isthmus
