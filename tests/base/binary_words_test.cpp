// SPDX-License-Identifier: Apache-2.0
// Oracle: n different words take ceil(log2 n) bits.
#include "isthmus/base/binary_words.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>

namespace isthmus {
namespace {

TEST(BinaryWords, PartEachTwoInAsFewDivisionsAsTheyHaveBits) {
  for (std::size_t n = 0; n <= 33; ++n) {
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < n; ++i) all.push_back(100 + 3 * i);
    const auto list = by_binary_words(all);
    EXPECT_EQ(list.size(), n < 2 ? 0 : static_cast<std::size_t>(std::bit_width(n - 1))) << n;
    for (const auto& sides : list) {
      EXPECT_EQ(sides.zeros.size() + sides.ones.size(), n);
      EXPECT_TRUE(!sides.zeros.empty() && !sides.ones.empty());
      EXPECT_TRUE(std::ranges::is_sorted(sides.zeros) && std::ranges::is_sorted(sides.ones));
    }
    for (const std::size_t a : all) {
      for (const std::size_t b : all) {
        if (a == b) continue;
        EXPECT_TRUE(std::ranges::any_of(list,
                                        [&](const auto& sides) {
                                          return std::ranges::count(sides.zeros, a) !=
                                                 std::ranges::count(sides.zeros, b);
                                        }))
            << a << " and " << b << " of " << n;
      }
    }
  }
}

}  // namespace
}  // namespace isthmus
