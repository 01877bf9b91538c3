// SPDX-License-Identifier: Apache-2.0
// Oracle: a plain loop over all boxes.
#include "isthmus/base/by_left_edge.hpp"

#include <gtest/gtest.h>

#include <random>

namespace isthmus {
namespace {

TEST(ByLeftEdge, FindsWhatAPlainLoopFindsFromLeftToRight) {
  std::mt19937 random(5);
  std::uniform_int_distribution<std::int64_t> place(0, 1000), size(0, 120);
  std::vector<Box> boxes;
  ByLeftEdge<std::size_t> list;
  for (std::size_t i = 0; i < 300; ++i) {
    const Position lo{place(random), place(random)};
    boxes.push_back({lo, {lo.x + size(random), lo.y + size(random)}});
    list.add(boxes.back(), i);
  }
  list.sort();
  std::size_t found = 0;
  for (int k = 0; k < 200; ++k) {
    const Position lo{place(random), place(random)};
    const Box box{lo, {lo.x + size(random), lo.y + size(random)}};
    std::vector<std::size_t> all, expected;
    list.each_over(box, [&](std::size_t i) {
      all.push_back(i);
      return true;
    });
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      if (boxes[i].overlaps(box)) expected.push_back(i);
    }
    EXPECT_TRUE(std::ranges::is_sorted(all, {}, [&](std::size_t i) { return boxes[i].lo.x; }));
    std::ranges::sort(all);
    EXPECT_EQ(all, expected);
    found += all.size();
  }
  EXPECT_GT(found, 200u);
}

TEST(ByLeftEdge, StopsWhereItIsTold) {
  ByLeftEdge<int> list;
  for (const int i : {2, 0, 1}) list.add({{i, 0}, {10, 10}}, i);
  list.sort();
  std::vector<int> seen;
  list.each_over({{5, 5}, {5, 5}}, [&](int i) {
    seen.push_back(i);
    return i < 1;
  });
  EXPECT_EQ(seen, (std::vector{0, 1}));
}

}  // namespace
}  // namespace isthmus
