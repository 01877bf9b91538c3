// SPDX-License-Identifier: Apache-2.0
// Places of copper that are touched and are no pads. Oracle: what a touch there proves, by which
// pads lie between it and the others.
#include "tests/expect/piece_board.hpp"

namespace isthmus::expect {
namespace {

using test::LittleBoard;
using test::point;

// Pads A, B and C at x = 0, 10 and 20 on one track, which goes on to x = 25 and ends there.
LittleBoard three_pads() {
  LittleBoard b(2);
  b.stage(Stage::etched_top);
  for (const auto& [ref, x] : {std::pair{"A", 0.0}, {"B", 10.0}, {"C", 20.0}})
    b.surface("N", ref, "1", x, 0);
  b.track(0, 0, 0, 25, 0, 0.3);
  return b.track(0, 0, 3, 10, 3, 0.3);  // a bar that no net's point lies on
}

PointId must_add(Board& board, double x, double y, Side side = Side::top) {
  const auto added = add_place(board, position_mm(x, y), side);
  if (!added) throw std::runtime_error(format(added.problem()));
  return *added;
}

// The state of the stretch that lies over x, after `a` and `b` were found to conduct.
FaultState state_over(const Board& board, double x, PointId a, PointId b) {
  Facts facts;
  facts.touched = {board.faults.node_of(a, Side::top), board.faults.node_of(b, Side::top)};
  facts.one_piece = {{facts.touched[0], facts.touched[1]}};
  const Derived derived = derive(board.faults.wiring, facts);
  for (std::size_t e = 0; e < board.faults.entries.size(); ++e) {
    const PossibleFault& f = board.faults.entries[e];
    if (f.kind == FaultKind::stretch && test::mm_to_path(f.path, position_mm(x, 0)) < 0.1)
      return derived.state[e];
  }
  throw std::runtime_error("no stretch lies there");
}

TEST(AddPlace, IsAPointThatNobodyRequiresOfTheNetUnderIt) {
  const auto board = test::whole(three_pads());
  const PointId id = must_add(*board, 15, 0.1);
  const Point& p = board->expectation.point(id);
  EXPECT_EQ(p.id, "@15.000,0.100");
  EXPECT_EQ(p.net, "N");
  EXPECT_EQ(p.side, Side::top);
  EXPECT_TRUE(p.unlisted);
  EXPECT_FALSE(p.required);
  EXPECT_EQ(p.group, board->expectation.point(point(*board, "A.1")).group);
  EXPECT_EQ(board->expectation.group(*p.group).points.back(), id);
  EXPECT_EQ(p.islands, (std::vector<std::optional<IslandId>>{
                           board->expectation.point(point(*board, "A.1")).islands[0], {}}));
  EXPECT_EQ(board->faults.node_of(id, Side::bottom), Wiring::kNone);
  EXPECT_EQ(point(*board, "@15.000,0.100"), id);
}

TEST(AddPlace, LeavesTheListAsItIs) {
  const auto board = test::whole(three_pads());
  const FaultList before = board->faults;
  const PointId id = must_add(*board, 15, 0);
  const FaultList& after = board->faults;
  EXPECT_EQ(after.entries.size(), before.entries.size());
  EXPECT_EQ(after.wiring.edges, before.wiring.edges);
  EXPECT_EQ(after.wiring.facings, before.wiring.facings);
  EXPECT_EQ(after.wiring.ways, before.wiring.ways);
  const std::uint32_t node = after.node_of(id, Side::top);
  EXPECT_FALSE(before.wiring.nodes[node].place);
  EXPECT_TRUE(after.wiring.nodes[node].place);
  EXPECT_EQ(after.points_of_node[node], std::vector{id});
  EXPECT_NEAR(to_mm(after.place_of_node[node].x), 15, 0.13);  // nodes are 0.25 mm apart
}

TEST(AddPlace, ProvesTheCopperUpToItAndNoPadBeyond) {
  const auto board = test::whole(three_pads());
  const PointId a = point(*board, "A.1"), place = must_add(*board, 15, 0);
  EXPECT_EQ(state_over(*board, 5, a, place), FaultState::excluded);
  EXPECT_EQ(state_over(*board, 17, a, place), FaultState::cannot_tell);
}

TEST(AddPlace, ProvesAPadThatLiesBetween) {
  const auto board = test::whole(three_pads());
  const PointId a = point(*board, "A.1"), place = must_add(*board, 24, 0);
  EXPECT_EQ(state_over(*board, 5, a, place), FaultState::excluded);
  EXPECT_EQ(state_over(*board, 17, a, place), FaultState::excluded);
}

TEST(AddPlace, OnCopperWithoutANetIsAGroupOfItsOwn) {
  const auto board = test::whole(three_pads());
  const std::size_t groups = board->expectation.groups.size();
  const PointId first = must_add(*board, 5, 3), second = must_add(*board, 8, 3);
  const Point& p = board->expectation.point(first);
  EXPECT_EQ(board->expectation.groups.size(), groups + 1);
  EXPECT_EQ(p.net, "#" + std::to_string(index(*p.islands[0])));
  EXPECT_EQ(board->expectation.group(*p.group).points, (std::vector{first, second}));
  EXPECT_EQ(board->expectation.group(*p.group).islands, std::vector{*p.islands[0]});
  const std::uint32_t piece =
      board->faults.wiring.nodes[board->faults.node_of(first, Side::top)].piece;
  EXPECT_EQ(board->faults.groups_of_piece[piece], std::vector{*p.group});
}

TEST(AddPlace, IsThatOfBeforeWhenAskedAgain) {
  const auto board = test::whole(three_pads());
  const PointId first = must_add(*board, 15, 0);
  const std::size_t points = board->expectation.points.size();
  EXPECT_EQ(must_add(*board, 15, 0), first);
  EXPECT_EQ(board->expectation.points.size(), points);
}

TEST(AddPlace, OffCopperIsRefusedWithTheNearest) {
  const auto board = test::whole(three_pads());
  const auto off = add_place(*board, position_mm(15, 1), Side::top);
  ASSERT_FALSE(off.ok());
  EXPECT_EQ(format(off.problem()),
            "little.yaml: error EXP-025: no copper lies at @15.000,1.000 on the top side\n"
            "  hint: the nearest copper of the top side lies at [15.000, 0.150], 0.850 mm away");
  const auto below = add_place(*board, position_mm(15, 0), Side::bottom);
  ASSERT_FALSE(below.ok());
  EXPECT_EQ(below.problem().hint, "the bottom side is not etched yet at stage etched-top");
}

}  // namespace
}  // namespace isthmus::expect
