// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/proof.md, by hand on nets of a few points: what must be touched, from where, and what
// must be tied through the board.
#include "plan/make_fixture_demands.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "plan/ideal.hpp"
#include "plan/resolve.hpp"
#include "tests/expect/piece_board.hpp"
#include "tests/plan/nets.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::plan {
namespace {

using test::Nets;
using Texts = std::vector<std::string>;

formats::FixtureFile fixture(const expect::Board& board, bool check = true) {
  Diagnostics notes;
  auto made = make_fixture(board, {16, check}, notes);
  EXPECT_TRUE(made) << format(made.problem());
  return *made;
}

// "A bottom: N0.1, N0.2 behind top" of every placement.
Texts laid(const formats::FixtureFile& f) {
  Texts out;
  for (const auto& placement : f.placements) {
    std::string text = placement.name + " " + std::string(name(placement.side)) + ":";
    for (const auto& [channel, probe] : placement.probes) {
      text += " " + probe.point;
      if (probe.clip) text += " behind " + std::string(name(*probe.side));
    }
    out.push_back(text);
  }
  return out;
}

// Entries that no run with this fixture could tell.
std::size_t open(const expect::Board& board, const formats::FixtureFile& f) {
  Diagnostics notes;
  const auto placements = resolve_placements(board, f, notes);
  EXPECT_TRUE(placements);
  return expect::derive(board.faults.wiring, ideal_facts(board, *placements, f.contact_check))
      .would_tell.size();
}

TEST(Demands, ANetOfOneSideNeedsNoClip) {
  Nets nets;
  nets.net("tth").net("th").pair(0, 1);
  EXPECT_EQ(laid(fixture(nets.board())), (Texts{"A top: N0.1 N0.2 N0.3 N1.1 N1.2"}));
}

// The bottom's two pads meet by way of the top alone: the current between them ran through both holes
// and the pad above.
TEST(Demands, ANetWhoseCurrentRanThroughTheBoardAnywayNeedsNoClip) {
  test::LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).track(0, -10, 0, 10, 0, 0.3).stage(Stage::joined);
  for (const double x : {-10, 10}) {
    b.through("A", "VIA", "", x, 0).track(1, x, 0, 2 * x, 0, 0.3);
    b.surface("A", x < 0 ? "R2" : "R3", "1", 2 * x, 0, 2);
  }
  const auto board = test::whole(std::move(b));
  const auto f = fixture(*board);
  for (const auto& placement : f.placements) {
    for (const auto& [channel, probe] : placement.probes) EXPECT_FALSE(probe.clip) << probe.point;
  }
  EXPECT_EQ(f.placements.size(), 2u);
  EXPECT_EQ(open(*board, f), 0u);
}

// Through one hole: whatever is touched, nothing but a reading from side to side proves its join.
TEST(Demands, ANetOnBothSidesIsTiedByOneClip) {
  Nets nets;
  nets.net("tthbb");
  const auto f = fixture(nets.board());
  EXPECT_EQ(laid(f), (Texts{"A top: N0.1 N0.2 N0.3 N0.4 behind bottom", "B bottom: N0.4 N0.5"}));
  EXPECT_EQ(open(nets.board(), f), 0u);
}

TEST(Demands, ItsLastPointBehindIsAClipRatherThanAPlate) {
  Nets nets;
  nets.net("tthb");
  const auto f = fixture(nets.board());
  EXPECT_EQ(open(nets.board(), f), 0u);
  std::size_t clips = 0;
  for (const auto& p : f.placements) {
    for (const auto& [channel, probe] : p.probes) clips += probe.clip;
  }
  EXPECT_EQ(clips, 1u);
}

TEST(Demands, EveryNetOnBothSidesHasOneClipAndAllShareAPlacement) {
  Nets nets;
  for (int i = 0; i < 3; ++i) nets.net("thb");
  nets.all_pairs();
  const auto f = fixture(nets.board());
  EXPECT_EQ(laid(f).at(0),
            "A top: N0.1 N0.2 N1.1 N1.2 N2.1 N2.2 N0.3 behind bottom N1.3 behind bottom N2.3 "
            "behind bottom");
  EXPECT_EQ(open(nets.board(), f), 0u);
}

// N0 is touched from below, N1 from above, where most is. A hole holds a clip better than a pad.
TEST(Demands, APairTouchedFromDifferentSidesMeetsOverAClipInAHole) {
  Nets nets;
  nets.net("bbh").net("tt").net("tttt").pair(0, 1);
  const auto f = fixture(nets.board());
  EXPECT_EQ(laid(f), (Texts{"A top: N1.1 N1.2 N2.1 N2.2 N2.3 N2.4 N0.3 behind bottom",
                            "B bottom: N0.1 N0.2 N0.3"}));
  EXPECT_EQ(open(nets.board(), f), 0u);
}

// A bridge to N1 alone does no harm; from N0 through it to N2 one does.
TEST(Demands, APairThatMeetsThroughABareNetIsReadToEachOther) {
  Nets nets;
  nets.net("tt").net("vv").net("tt").pair(0, 1).pair(1, 2);
  const Demands demands(nets.board(), 500_um);
  EXPECT_EQ(demands.side(Side::top).pairs,
            (std::vector<std::pair<std::size_t, std::size_t>>{{0, 2}}));
  EXPECT_EQ(open(nets.board(), fixture(nets.board())), 0u);
}

TEST(Demands, AskForNothingMoreOfAFixtureThatTellsOfEverything) {
  Nets nets;
  nets.net("tthbb").net("th").net("bb").all_pairs();
  Demands demands(nets.board(), 500_um);
  Diagnostics notes;
  const auto placements = resolve_placements(nets.board(), fixture(nets.board()), notes);
  ASSERT_TRUE(placements);
  EXPECT_FALSE(demands.answer(ideal_facts(nets.board(), *placements, true)));
}

std::vector<std::string> points_of(const formats::FixtureFile& f) {
  std::vector<std::string> out;
  for (const auto& placement : f.placements) {
    for (const auto& [channel, probe] : placement.probes) out.push_back(probe.point);
  }
  return out;
}

// A track from a pad to a pour of 8 by 8 mm that no record names.
TEST(Demands, APourIsTouchedWhereItIsWidest) {
  test::LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 5, 0).track(0, 0, 0, 20, 0, 0.3);
  b.pad(0, 20, 0, 8, 8);
  b.design.copper[0].objects.back().kind = formats::ObjectKind::region;
  const auto board = test::whole(std::move(b));
  const auto f = fixture(*board);
  const Texts points = points_of(f);
  ASSERT_EQ(points.size(), 3u);
  EXPECT_TRUE(std::ranges::any_of(points, [](const auto& p) { return p.starts_with("@"); }));
  EXPECT_EQ(open(*board, f), 0u);
}

// D and G are one piece of copper by a drawn tie: a reading between them proves it.
TEST(Demands, TiedNetsOnOneCopperMeet) {
  test::LittleBoard b;
  b.surface("D", "R1", "1", 0, 0).surface("G", "R2", "1", 10, 0).track(0, 0, 0, 10, 0, 0.4);
  b.design.board.net_ties = {{"D", "G"}};
  const auto board = test::whole(std::move(b));
  const auto f = fixture(*board);
  EXPECT_EQ(laid(f), (Texts{"A top: R1.1 R2.1"}));
  EXPECT_EQ(open(*board, f), 0u);
  Diagnostics notes;
  const auto plan = test::foretold_plan(*board, f, {4, {10.0}}, notes);
  ASSERT_TRUE(plan);
  const auto tie = std::ranges::find(plan->steps, StepKind::continuity, &Step::kind);
  ASSERT_NE(tie, plan->steps.end());
  EXPECT_EQ(tie->groups, (std::vector{GroupId{0}, GroupId{1}}));
  EXPECT_TRUE(tie->predicted.has_value());
  EXPECT_TRUE(plan->untested.empty());
}

}  // namespace
}  // namespace isthmus::plan
