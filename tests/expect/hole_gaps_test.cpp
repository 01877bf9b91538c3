// SPDX-License-Identifier: Apache-2.0
// Wire ends, splashes, wandering drills and burrs: distances known from how the boards are drawn.
#include "expect/holes/hole_gaps.hpp"

#include "isthmus/expect/board.hpp"
#include "tests/expect/little_board.hpp"

namespace isthmus::expect {
namespace {

using test::LittleBoard;

Expectation expected(LittleBoard& little) {
  auto copper = copper::extract_copper(little.design).value();
  const auto gaps = gaps_at_stage(little.design, copper);
  return expect_board(little.design, copper, gaps, little.notes).value();
}

// Two surface pads of 1 mm, `apart` between their edges, and a joined hole (pads of 1.6 mm) whose
// middle lies `away` from the middle between them, all on one line across.
LittleBoard two_pads_by_a_join(double apart, double away, std::optional<bool> plated) {
  LittleBoard b;
  b.surface("A", "R1", "1", -apart / 2 - 0.5, 0).surface("B", "R2", "1", apart / 2 + 0.5, 0);
  b.through("V", "J1", "1", 0, away, plated).stage(Stage::joined);
  return b;
}

bool paired(const Expectation& e, const std::string& a, const std::string& b) {
  return std::ranges::any_of(e.pairs, [&](const Pair& p) {
    const std::string &x = e.group(p.a).net, &y = e.group(p.b).net;
    return (x == a && y == b) || (x == b && y == a);
  });
}

TEST(HoleGaps, TheWindowIsThreeMillimetresRoundAJoinMadeByHand) {
  // Counted from the hole's rim, 0.4 mm from its middle, to the middle between the pads' corners,
  // 0.5 mm off the line of their middles.
  auto near = two_pads_by_a_join(2.9, 3.85, std::nullopt);
  auto far = two_pads_by_a_join(2.9, 4.0, std::nullopt);
  auto wide = two_pads_by_a_join(3.1, 3.0, std::nullopt);
  EXPECT_TRUE(paired(expected(near), "A", "B"));
  EXPECT_FALSE(paired(expected(far), "A", "B"));
  EXPECT_FALSE(paired(expected(wide), "A", "B"));
}

TEST(HoleGaps, PlatedHolesOpenHolesAndDeferredJoinsDoNotWidenIt) {
  auto plated = two_pads_by_a_join(2.0, 2.0, true);
  auto open = two_pads_by_a_join(2.0, 2.0, std::nullopt).stage(Stage::etched);
  auto deferred = two_pads_by_a_join(2.0, 2.0, std::nullopt);
  deferred.design.board.joins_mode = formats::JoinsMode::listed;
  deferred.design.board.joins = {{position_mm(0, 2.0), formats::JoinKind::wire, true}};
  EXPECT_FALSE(paired(expected(plated), "A", "B"));
  EXPECT_FALSE(paired(expected(open), "A", "B"));
  EXPECT_FALSE(paired(expected(deferred), "A", "B"));
}

TEST(HoleGaps, AWiderWindowOfTheBoardStays) {
  auto b = two_pads_by_a_join(4.0, 10.0, std::nullopt);
  b.design.board.limits.window = 5_mm;
  EXPECT_TRUE(paired(expected(b), "A", "B"));
}

// A hole of 0.8 mm with a pad on the bottom alone, and on top a pad of another net whose edge lies
// `clear` from the hole's rim.
LittleBoard one_sided(double clear, std::optional<bool> plated) {
  LittleBoard b;
  b.pad(1, 0, 0, 1.6, 1.6).hole(0, 0, 0.8, plated).record("V", "J1", "1", 0, 0, 0);
  b.surface("A", "R1", "1", 0.4 + clear + 0.5, 0).stage(Stage::joined);
  b.design.board.process.drill_wander = 100_um;
  return b;
}

TEST(HoleGaps, AWireThroughAHoleReachesTheSideWhereItHasNoPad) {
  auto near = one_sided(2.9, std::nullopt);
  auto far = one_sided(3.2, std::nullopt);
  EXPECT_TRUE(paired(expected(near), "A", "V"));
  EXPECT_FALSE(paired(expected(far), "A", "V"));
}

TEST(HoleGaps, ADrillThatWandersMayBringAPlatedHoleToCopper) {
  auto near = one_sided(0.09, true);
  auto far = one_sided(0.12, true);
  const Expectation e = expected(near);
  ASSERT_TRUE(paired(e, "A", "V"));
  EXPECT_NEAR(e.pairs.front().distance_nm, 90'000, 1);
  EXPECT_FALSE(paired(expected(far), "A", "V"));
}

TEST(HoleGaps, TheGapLiesOnTheSideWithoutThePad) {
  auto b = one_sided(0.5, std::nullopt);
  auto copper = copper::extract_copper(b.design).value();
  const auto gaps = gaps_at_stage(b.design, copper);
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_EQ(gaps[0].kind, copper::GapKind::hole);
  EXPECT_EQ(gaps[0].layer, LayerId{0});
  EXPECT_NEAR(gaps[0].distance_nm, 500'000, 1);
}

TEST(HoleGaps, BurrsReachTheUncutSideAtHolesOnly) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0, std::nullopt).through("B", "J2", "1", 20, 0, std::nullopt);
  b.surface("C", "R1", "1", 10, 0).stage(Stage::etched_top);
  const Expectation e = expected(b);
  ASSERT_TRUE(e.sheet);
  EXPECT_EQ(e.sheet->side, Side::bottom);
  EXPECT_EQ(index(e.sheet_group()), 3U);
  ASSERT_EQ(e.sheet->burrs.size(), 2U);
  EXPECT_EQ(e.joins[e.sheet->burrs[0].join].at, position_mm(0, 0));
  EXPECT_EQ(e.joins[e.sheet->burrs[1].join].at, position_mm(20, 0));
  EXPECT_FALSE(paired(e, "A", "B"));  // by way of the sheet no pair comes about
  b.stage(Stage::etched);
  EXPECT_FALSE(expected(b).sheet);
}

TEST(HoleGaps, WhereASideHasNoArtworkThereIsNoSheet) {
  LittleBoard b;
  b.pad(0, 0, 0, 1.6, 1.6).hole(0, 0, 0.8, std::nullopt).record("A", "J1", "1", 0, 0, 0);
  b.stage(Stage::etched_top);
  b.design.board.bottom.reset();
  EXPECT_FALSE(expected(b).sheet);
}

TEST(HoleGaps, BurrsOfTheOtherSideAreOnTheCopperThatIsEtched) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0, std::nullopt).surface("C", "R1", "1", 10, 0);
  b.stage(Stage::etched_bottom);
  const Expectation e = expected(b);
  ASSERT_TRUE(e.sheet);
  EXPECT_EQ(e.sheet->side, Side::top);
  ASSERT_EQ(e.sheet->burrs.size(), 1U);
  const IslandId bottom = e.sheet->burrs[0].island;
  EXPECT_EQ(e.group(*e.points[0].group).islands, std::vector<IslandId>{bottom});
}

// The hole of one_sided() lies so far from the pad of net A: the drill's wander is 0.1 mm.
TEST(HoleGaps, ABurrStandsWhereTheDrillMayWander) {
  const auto reached = [](double gap_mm) {
    auto b = one_sided(gap_mm, true);
    b.stage(Stage::etched_top);
    const Expectation e = expected(b);
    std::vector<std::string> nets;
    for (const Burr& burr : e.sheet->burrs) {
      for (const Group& g : e.groups)
        if (std::ranges::binary_search(g.islands, burr.island)) nets.push_back(g.net);
    }
    return nets;
  };
  EXPECT_EQ(reached(0.09), std::vector<std::string>{"A"});
  EXPECT_EQ(reached(0.12), std::vector<std::string>{});
}

}  // namespace
}  // namespace isthmus::expect
