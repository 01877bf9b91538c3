// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/sets.hpp"

#include <gtest/gtest.h>

#include <random>

#include "isthmus/base/edit_distance.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus {
namespace {

using Groups = std::vector<std::vector<std::size_t>>;

TEST(Sets, EachThingIsASetOfItsOwnAtFirst) { EXPECT_EQ(Sets(3).groups(), (Groups{{0}, {1}, {2}})); }

TEST(Sets, UnitingSaysWhetherTheTwoWereApart) {
  Sets sets(4);
  EXPECT_TRUE(sets.unite(3, 1));
  EXPECT_TRUE(sets.unite(1, 2));
  EXPECT_FALSE(sets.unite(2, 3));  // by hand: 3-1-2
  EXPECT_FALSE(sets.unite(0, 0));
  EXPECT_EQ(sets.groups(), (Groups{{0}, {1, 2, 3}}));
}

// A law of the header: the root is the lowest member, whatever the order.
TEST(Sets, TheLowestMemberIsTheRootInEveryOrder) {
  std::vector<std::pair<std::size_t, std::size_t>> pairs{{5, 2}, {2, 4}, {6, 1}, {4, 5}, {3, 6}};
  std::mt19937 random(1);
  for (int turn = 0; turn < 20; ++turn) {
    std::shuffle(pairs.begin(), pairs.end(), random);
    Sets sets(7);
    for (const auto& [a, b] : pairs) sets.unite(a, b);
    EXPECT_EQ(sets.groups(), (Groups{{0}, {1, 3, 6}, {2, 4, 5}}));
    for (const std::vector<std::size_t>& group : sets.groups()) {
      for (const std::size_t i : group) EXPECT_EQ(sets.find(i), group.front());
    }
  }
}

TEST(Sets, LooksUpTheSameWhetherItMayShortenTheWayOrNot) {
  Sets sets(50);
  for (std::size_t i = 49; i > 0; --i) sets.unite(i, i - 1);
  const Sets as_they_are = sets;
  EXPECT_EQ(as_they_are.find(49), 0U);
  EXPECT_EQ(sets.find(49), 0U);
}

TEST(EditDistance, CountsCharactersAddedTakenAwayAndChanged) {
  EXPECT_EQ(edit_distance("", ""), 0U);
  EXPECT_EQ(edit_distance("", "net"), 3U);
  EXPECT_EQ(edit_distance("R4.1", "R4.1"), 0U);
  EXPECT_EQ(edit_distance("R4.1", "R14.1"), 1U);
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3U);  // Wagner and Fischer's measure, by hand
  EXPECT_EQ(edit_distance("ab", "ba"), 2U);           // two changes: a swap is no step of its own
}

}  // namespace
}  // namespace isthmus
