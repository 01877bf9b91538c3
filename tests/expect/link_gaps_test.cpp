// SPDX-License-Identifier: Apache-2.0
// Wire jumpers over other copper: distances known from how the boards are drawn.
#include "expect/holes/link_gaps.hpp"

#include "expect/holes/hole_gaps.hpp"
#include "isthmus/expect/board.hpp"
#include "tests/expect/little_board.hpp"

namespace isthmus::expect {
namespace {

using test::LittleBoard;

// A wire of A from (0, 0) to (20, 0) on top; a track of B upright at x = 10, from `low` to 8 mm.
LittleBoard wire_over_track(double low, std::size_t layer = 0) {
  LittleBoard b;
  const int access = layer == 0 ? 1 : 2;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 20, 0);
  b.surface("B", "R3", "1", 10, 8, access).track(layer, 10, low, 10, 8, 0.4);
  b.design.board.links = {{position_mm(0, 0), position_mm(20, 0), Side::top}};
  return b.stage(Stage::joined);
}

std::vector<copper::Gap> wire_gaps(LittleBoard& b) {
  const auto copper = copper::extract_copper(b.design).value();
  std::vector<copper::Gap> gaps = gaps_at_stage(b.design, copper);
  std::erase_if(gaps, [](const copper::Gap& g) { return g.kind != copper::GapKind::wire; });
  std::erase_if(gaps, [](const copper::Gap& g) { return g.foot_a && g.foot_b; });
  return gaps;
}

bool paired(LittleBoard b) {
  const auto copper = copper::extract_copper(b.design).value();
  const auto e = expect_board(b.design, copper, gaps_at_stage(b.design, copper), b.notes).value();
  return std::ranges::any_of(e.pairs, [&](const Pair& p) {
    return e.group(p.a).net + e.group(p.b).net == "AB" ||
           e.group(p.a).net + e.group(p.b).net == "BA";
  });
}

TEST(LinkGaps, AWireIsANeighbourOfWhatItCrosses) {
  LittleBoard b = wire_over_track(-8);
  const auto gaps = wire_gaps(b);
  ASSERT_EQ(gaps.size(), 4u);  // from either end: to B, and to the copper at the other end
  std::size_t over = 0;
  for (const copper::Gap& g : gaps) {
    if (std::abs(to_mm(g.on_a.x) - 10) > 1) continue;
    ++over;
    EXPECT_EQ(g.facings.size(), 1u);
    EXPECT_LE(g.distance_nm, copper::kLeastGapOfWeight);
    const Position foot = g.foot_a.value_or(g.foot_b.value_or(Position{}));
    EXPECT_TRUE(foot == position_mm(0, 0) || foot == position_mm(20, 0));
  }
  EXPECT_EQ(over, 2u);
  EXPECT_TRUE(paired(std::move(b)));
}

// From the wire's surface, 0.3 mm from its middle, to the track's end, 0.2 mm below its last place:
// 1.2 mm, and 1.3 mm with a window of 1.27 mm.
TEST(LinkGaps, AWireReachesAsFarAsTheWindow) {
  EXPECT_TRUE(paired(wire_over_track(1.7)));
  EXPECT_FALSE(paired(wire_over_track(1.8)));
  LittleBoard b = wire_over_track(1.7);
  for (const copper::Gap& g : wire_gaps(b)) {
    if (std::abs(to_mm(g.on_a.x) - 10) < 1) {
      EXPECT_NEAR(g.distance_nm, 1.2e6, 0.01e6);
    }
  }
}

TEST(LinkGaps, AWireHasNoNeighboursBelowTheBoardOrBeforeItIsThere) {
  EXPECT_FALSE(paired(wire_over_track(-8, 1)));
  EXPECT_FALSE(paired(wire_over_track(-8).stage(Stage::etched)));
  LittleBoard b = wire_over_track(-8);
  b.design.board.links.clear();
  EXPECT_FALSE(paired(std::move(b)));
}

TEST(LinkGaps, WiresOverEachOtherAreNeighbours) {
  LittleBoard b = wire_over_track(8);
  b.surface("B", "R4", "1", 10, -8);
  b.design.board.links.push_back({position_mm(10, 8), position_mm(10, -8), Side::top});
  EXPECT_TRUE(paired(std::move(b)));
}

// Solder splashes round an end as round a join made by hand: 3 mm.
TEST(LinkGaps, TheWindowIsThreeMillimetresRoundTheEnds) {
  for (const bool wired : {true, false}) {
    LittleBoard b;
    b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 20, 0).surface("B", "R3", "1", -3.5, 0);
    if (wired) b.design.board.links = {{position_mm(0, 0), position_mm(20, 0), Side::top}};
    EXPECT_EQ(paired(b.stage(Stage::joined)), wired);
  }
}

// The entry's copper is where the wire is soldered, not what lies nearest to the crossing.
TEST(LinkGaps, ABridgeToTheWireIsOneToItsFoot) {
  LittleBoard b = wire_over_track(-8);
  b.surface("A", "R5", "1", 8.5, 3).track(0, 0, 3, 8.5, 3, 0.3).track(0, 0, 0, 0, 3, 0.3);
  auto board = std::make_unique<Board>();
  board->copper = copper::extract_copper(b.design).value();
  board->gaps = gaps_at_stage(b.design, board->copper);
  board->conductors = copper::trace_conductors(b.design, board->copper);
  board->expectation =
      expect_board(b.design, board->copper, board->gaps, b.notes, &board->conductors).value();
  board->design = std::move(b.design);
  const FaultList list = list_possible_faults(*board);
  std::size_t bridges = 0;
  for (const Wiring::Facing& f : list.wiring.facings) {
    if (f.entry == Wiring::kNone || !list.entries[f.entry].gap ||
        board->gaps[*list.entries[f.entry].gap].kind != copper::GapKind::wire)
      continue;
    ++bridges;
    const Position a = list.place_of_node[f.a], c = list.place_of_node[f.b];
    const auto near = [](Position p, double x, double y) {
      return distance_nm(p, position_mm(x, y)) < 0.6e6;
    };
    EXPECT_TRUE(near(a, 0, 0) || near(a, 20, 0) || near(c, 0, 0) || near(c, 20, 0));
  }
  EXPECT_GT(bridges, 1u);
}

}  // namespace
}  // namespace isthmus::expect
