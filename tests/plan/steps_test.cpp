// SPDX-License-Identifier: Apache-2.0
// Oracle: n different words take ceil(log2 n) bits; two that differ are parted by the bit in which
// they do.
#include "plan/steps.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <set>

#include "tests/plan/nets.hpp"

namespace isthmus::plan {
namespace {

std::vector<GroupInPlacement> all_of(const expect::Board& board) {
  std::vector<GroupInPlacement> out;
  for (std::uint32_t g = 0; g < board.expectation.groups.size(); ++g)
    out.push_back({GroupId{g}, {g}});
  return out;
}

std::set<std::pair<std::size_t, std::size_t>> parted(const std::vector<Partition>& list) {
  std::set<std::pair<std::size_t, std::size_t>> out;
  for (const Partition& p : list) {
    for (const std::size_t a : p.source) {
      for (const std::size_t b : p.ret) out.insert(std::minmax(a, b));
    }
  }
  return out;
}

// None of them faces another.
TEST(Partitions, PartEveryTwoGroupsInAsFewStepsAsTheirWordsHaveBits) {
  for (std::size_t n = 2; n <= 33; ++n) {
    test::Nets nets;
    for (std::size_t i = 0; i < n; ++i) nets.net("t");
    const auto list = partitions(nets.board(), all_of(nets.board()));
    EXPECT_EQ(list.size(), static_cast<std::size_t>(std::bit_width(n - 1))) << n;
    EXPECT_EQ(parted(list).size(), n * (n - 1) / 2) << n;
  }
}

TEST(Partitions, KeepPiecesOfOneNetOnOneSide) {
  test::Nets nets;
  for (int i = 0; i < 8; ++i) nets.net("t");
  expect::Board board = nets.board();
  board.expectation.groups[5].net = board.expectation.groups[2].net;
  const auto apart = parted(partitions(board, all_of(board)));
  EXPECT_FALSE(apart.contains({2, 5}));
  EXPECT_EQ(apart.size(), 8u * 7 / 2 - 1);
}

TEST(Partitions, ALoneGroupNeedsNone) {
  test::Nets nets;
  nets.net("t");
  EXPECT_TRUE(partitions(nets.board(), all_of(nets.board())).empty());
}

}  // namespace
}  // namespace isthmus::plan
