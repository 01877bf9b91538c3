// SPDX-License-Identifier: Apache-2.0
// Against all pairs of points, asked one by one.
#include "isthmus/expect/resistances.hpp"

#include <gtest/gtest.h>

#include <map>

#include "tests/support/small_board.hpp"

namespace isthmus::expect {
namespace {

TEST(NetResistances, AreThoseOfTheFarthestPointsGreatestFirst) {
  const test::SmallBoard small;
  const Board& board = small.board();
  std::size_t told = 0;
  const auto all = net_resistances(board, 500_um, [&](std::size_t, std::size_t) { ++told; });
  EXPECT_EQ(told, board.expectation.groups.size() + 1);

  copper::Field field(board.copper, conducting_barrels(board), foil_of(board));
  std::map<GroupId, double> greatest;
  for (std::size_t g = 0; g < board.expectation.groups.size(); ++g) {
    const auto& points = board.expectation.groups[g].points;
    for (const PointId a : points) {
      for (const PointId b : points) {
        const auto side = [&](PointId p) {
          return board.expectation.point(p).side == Side::bottom ? Side::bottom : Side::top;
        };
        const auto from = electrode_at(board, a, side(a), 500_um),
                   to = electrode_at(board, b, side(b), 500_um);
        if (a >= b || !from || !to) continue;
        const auto predicted = field.between(*from, *to);
        if (!predicted) continue;
        double& most = greatest[static_cast<GroupId>(g)];
        most = std::max(most, predicted->ohms.value);
      }
    }
  }
  ASSERT_GE(greatest.size(), 2U);
  ASSERT_EQ(all.size(), greatest.size());
  for (std::size_t i = 0; i < all.size(); ++i) {
    const NetResistance& r = all[i];
    EXPECT_LT(r.from, r.to);
    EXPECT_NEAR(r.predicted.ohms.value, greatest.at(r.group), 1e-9) << i;  // all of them trees
    if (i > 0) {
      EXPECT_LE(r.predicted.ohms, all[i - 1].predicted.ohms);
    }
  }
}

}  // namespace
}  // namespace isthmus::expect
