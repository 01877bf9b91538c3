// SPDX-License-Identifier: Apache-2.0
// Lengths and widths are those of the drawing; wire resistance from IEC 60028.
#include <gtest/gtest.h>

#include "tests/expect/piece_board.hpp"

namespace isthmus::expect {
namespace {

using test::LittleBoard;
using test::mm_to_path;
using test::point;
using test::whole;

LittleBoard two_sided(Stage stage) {
  LittleBoard b;
  b.stage(stage);
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 20, 0, 2).through("N", "J", "1", 10, 0);
  b.track(0, 0, 0, 10, 0, 0.2).track(1, 10, 0, 20, 0, 0.5);
  return b;
}

TEST(Ways, ChangeLayerWhereTheJoinIs) {
  const auto board = whole(two_sided(Stage::joined));
  const auto ways = way_between(*board, point(*board, "A.1"), point(*board, "B.1"));
  ASSERT_EQ(ways.size(), 2u);
  EXPECT_EQ(ways[0].layer, LayerId{0});
  EXPECT_EQ(ways[1].layer, LayerId{1});
  EXPECT_NEAR(to_mm(ways[0].narrowest), 0.2, 0.006);
  EXPECT_NEAR(to_mm(ways[1].narrowest), 0.5, 0.006);
  EXPECT_LE(distance_nm(ways[0].path.front(), position_mm(0, 0)), 0.3e6);
  EXPECT_LE(distance_nm(ways[0].path.back(), position_mm(10, 0)), 0.3e6);
  EXPECT_LE(distance_nm(ways[1].path.back(), position_mm(20, 0)), 0.3e6);
}

TEST(Ways, TakeTheFewestSquaresNotTheShortestLength) {
  LittleBoard b;
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0);
  b.track(0, 0, 0, 10, 0, 0.1);  // 100 squares
  b.track(0, 0, 0, 0, 4, 0.8).track(0, 0, 4, 10, 4, 0.8).track(0, 10, 4, 10, 0, 0.8);  // 22 squares
  const auto board = whole(std::move(b));
  const auto ways = way_between(*board, point(*board, "A.1"), point(*board, "B.1"));
  ASSERT_EQ(ways.size(), 1u);
  EXPECT_LE(mm_to_path(ways[0].path, position_mm(5, 4)), 0.05);
  EXPECT_NEAR(to_mm(ways[0].narrowest), 0.8, 0.006);
}

TEST(Ways, AreNoneWhereNothingConnects) {
  const auto board = whole(two_sided(Stage::etched));
  EXPECT_TRUE(way_between(*board, point(*board, "A.1"), point(*board, "B.1")).empty());
}

TEST(Ways, OfOnePadAreTheStepFromPlaceToPlace) {
  const auto board = whole(two_sided(Stage::joined));
  const PointId a = point(*board, "A.1");
  const auto ways = way_between(*board, a, a);
  ASSERT_EQ(ways.size(), 1u);
  EXPECT_EQ(ways[0].path, (std::vector<Position>{position_mm(0, 0), position_mm(0, 0)}));
}

TEST(Barrels, AreTheJoinsThatConductAtThisStage) {
  EXPECT_TRUE(conducting_barrels(*whole(two_sided(Stage::etched))).empty());
  const auto board = whole(two_sided(Stage::joined));
  const auto barrels = conducting_barrels(*board);
  ASSERT_EQ(barrels.size(), 1u);
  ASSERT_EQ(barrels[0].feet.size(), 2u);
  EXPECT_EQ(barrels[0].feet[0].at, position_mm(10, 0));
  EXPECT_EQ(barrels[0].feet[0].diameter, from_mm(0.8));
}

TEST(Barrels, ALinkIsAWireOfItsLength) {
  LittleBoard b;
  b.stage(Stage::finished);
  b.surface("N", "A", "1", 0, 0).surface("N", "B", "1", 10, 0);
  b.design.board.links.push_back({position_mm(0, 0), position_mm(10, 0), Side::top});
  const auto barrels = conducting_barrels(*whole(std::move(b)));
  ASSERT_EQ(barrels.size(), 1u);
  // 10 mm of 0.6 mm wire at 1.7241e-8 ohm m: 0.61 mohm, half of it to each end.
  EXPECT_NEAR(barrels[0].ohms.value, 0.305e-3, 0.001e-3);
}

TEST(Electrodes, LieOnTheCopperOfTheirSide) {
  const auto board = whole(two_sided(Stage::joined));
  const PointId a = point(*board, "A.1"), j = point(*board, "J.1");
  EXPECT_TRUE(electrode_at(*board, a, Side::top, 500_um).has_value());
  EXPECT_FALSE(electrode_at(*board, a, Side::bottom, 500_um).has_value());
  const auto top = electrode_at(*board, j, Side::top, 500_um),
             bottom = electrode_at(*board, j, Side::bottom, 300_um);
  EXPECT_NE(top->island, bottom->island);
  EXPECT_EQ(bottom->diameter, 300_um);
  EXPECT_EQ(board->copper.island(bottom->island).layer, LayerId{1});
}

TEST(Electrodes, AndBarrelsPredictTheWayThroughTheHole) {
  // 10 mm of 0.2 mm on top, 10 mm of 0.5 mm below, both 30 um narrower after the etch; 0.5 mm pads
  // each shorten it.
  const auto board = whole(two_sided(Stage::joined));
  copper::Field field(board->copper, conducting_barrels(*board), foil_of(*board));
  const auto from = electrode_at(*board, point(*board, "A.1"), Side::top, 500_um);
  const auto to = electrode_at(*board, point(*board, "B.1"), Side::bottom, 500_um);
  const double sheet = copper::sheet_resistance(foil_of(*board)).value;
  const double rough = sheet * (8.7 / 0.17 + 8.7 / 0.47) + 0.001;
  EXPECT_NEAR(field.between(*from, *to)->ohms.value, rough, 0.05 * rough);
}

}  // namespace
}  // namespace isthmus::expect
