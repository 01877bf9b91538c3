// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/proof.md on what a join of its own says nothing of; distances by hand, the nets' pads
// are 2.54 mm apart.
#include <gtest/gtest.h>

#include <algorithm>

#include "plan/hand/holds.hpp"
#include "plan/hand/landings.hpp"
#include "tests/plan/nets.hpp"

namespace isthmus::plan::hand {
namespace {

using test::Nets;

std::vector<Hold> holds(const Nets& nets, const std::vector<PointId>& struck = {}) {
  return holds_of(nets.board(), demand_of(nets.board()), struck);
}

expect::Facts facts(const Nets& nets, const Round& round) {
  expect::Facts f;
  add_facts(nets.board(), {16, 1, false, true}, round, round.touches.size(), f);
  return f;
}

Round round_of(std::vector<HandClip> clips, const std::vector<std::pair<PointId, Side>>& touches) {
  Round r;
  r.needles = {{16, {}}};
  r.clips = std::move(clips);
  for (const auto& [point, side] : touches) {
    Touch t;
    t.point = point;
    t.side = side;
    r.touches.push_back(t);
  }
  return r;
}

TEST(Holds, AreRowsOfHolesThenPads) {
  Nets nets;
  nets.net("hht").net("Tt").pair(0, 1);
  const auto list = holds(nets);
  ASSERT_EQ(list.size(), 3u);
  EXPECT_GT(list[0].ease, list[2].ease);
  EXPECT_EQ(list[2].clip.side, Side::top);
}

TEST(Holds, ALonePadIsNone) {
  Nets nets;
  nets.net("T").net("tt").pair(0, 1);
  EXPECT_TRUE(holds(nets).empty());
}

TEST(Holds, AStruckOutPlaceIsNone) {
  Nets nets;
  nets.net("Tt").net("tt").pair(0, 1);
  EXPECT_EQ(holds(nets).size(), 1u);
  EXPECT_TRUE(holds(nets, {PointId{0}}).empty());
}

TEST(Holds, NeverHideAPlaceThatMustBeTouched) {
  Nets nets;
  nets.net("TtT").net("hhb").net("tt").all_pairs();
  const Demand demand = demand_of(nets.board());
  for (const Hold& h : holds(nets)) {
    for (const Place& p : demand.places) {
      if (lies_under(nets.board(), h.clip, p.point) || p.side != h.clip.from) continue;
      EXPECT_GE(distance_nm(p.at, h.at), 2.5e6);
    }
  }
}

// The pads lie 2.54 mm apart: from the side where another is 2.4 mm away no clip fits.
TEST(InReach, IsTwoAndAHalfMillimetresFromTheBody) {
  Nets nets;
  nets.net("Tt");
  const HandClip clip{1, PointId{0}, Side::top, Side::top};
  Place near;
  near.point = PointId{1};
  near.side = Side::top;
  near.at = position_mm(2.54, 0);
  EXPECT_TRUE(in_reach(nets.board(), clip, near));
  near.at = position_mm(2.4, 0);
  EXPECT_FALSE(in_reach(nets.board(), clip, near));
  near.side = Side::bottom;
  EXPECT_TRUE(in_reach(nets.board(), clip, near));
}

// N0: pad - hub - hole - hub - pad, the hole plated: a hook through it ties top and bottom.
TEST(AHook, NeverExcludesTheJoinItReplaces) {
  Nets nets;
  nets.joins(formats::JoinKind::plated).net("thb");
  const HandClip hook{1, PointId{1}, Side::both, Side::bottom};
  ASSERT_EQ(clip_nodes(nets.board(), hook).size(), 2u);
  const auto f = facts(nets, round_of({hook}, {{PointId{0}, Side::top},
                                               {PointId{2}, Side::bottom},
                                               {PointId{0}, Side::top}}));
  const auto derived = expect::derive(nets.board().faults.wiring, f);
  for (std::size_t e = 0; e < derived.state.size(); ++e) {
    if (nets.board().faults.entries[e].kind != expect::FaultKind::join) continue;
    EXPECT_EQ(derived.state[e], expect::FaultState::cannot_tell);
  }
}

TEST(AHook, SaysNothingWhereAnotherJoinLeadsRoundIt) {
  Nets nets;
  nets.joins(formats::JoinKind::plated).net("thhb");
  const HandClip hook{1, PointId{1}, Side::both, Side::bottom};
  const auto f =
      facts(nets, round_of({hook}, {{PointId{0}, Side::top}, {PointId{3}, Side::bottom}}));
  EXPECT_TRUE(f.one_piece.empty());
}

TEST(AHook, CountsForASideOnlyBetweenTwoLandingsThere) {
  Nets nets;
  nets.joins(formats::JoinKind::plated).net("thb").net("tt").pair(0, 1);
  const HandClip hook{1, PointId{1}, Side::both, Side::bottom};
  const PointId other{3};
  const std::pair top{PointId{0}, Side::top}, foreign{other, Side::top};
  EXPECT_TRUE(facts(nets, round_of({hook}, {foreign})).two_pieces.empty());
  EXPECT_TRUE(facts(nets, round_of({hook}, {top, foreign})).two_pieces.empty());
  EXPECT_EQ(facts(nets, round_of({hook}, {top, foreign, top})).two_pieces.size(), 1u);
}

// It presses a wire that nobody soldered against the rings: as a hook ties both ends, whatever the
// list says of the join.
TEST(AClipOnTheWireOfAJoin, SaysNothingOfTheJoin) {
  Nets nets;
  nets.net("thb");
  const HandClip clip{1, PointId{1}, Side::both, Side::bottom};
  ASSERT_EQ(clip_nodes(nets.board(), clip).size(), 2u);
  const auto f =
      facts(nets, round_of({clip}, {{PointId{0}, Side::top}, {PointId{2}, Side::bottom}}));
  const auto derived = expect::derive(nets.board().faults.wiring, f);
  EXPECT_EQ(std::ranges::count(derived.state, expect::FaultState::cannot_tell), 1);
}

TEST(Landings, ALoneTipOnANetWithoutAClipSaysNothing) {
  Nets nets;
  nets.net("Tt").net("tt").pair(0, 1);
  const HandClip clip{1, PointId{0}, Side::top, Side::top};
  const Round r = round_of({clip}, {{PointId{2}, Side::top}});
  expect::Facts f;
  const HandMeans single{16, 1, false, false};
  add_facts(nets.board(), single, r, 1, f);
  EXPECT_TRUE(f.touched.empty());
  EXPECT_EQ(unnoticed(nets.board(), single, r), 1u);
  EXPECT_EQ(unnoticed(nets.board(), {16, 1, false, true}, r), 0u);
}

TEST(Landings, ALoneTipIsHeldUntilTheOtherLandsOnTheSameCopper) {
  Nets nets;
  nets.net("Tt").net("tt").pair(0, 1);
  const HandClip clip{1, PointId{0}, Side::top, Side::top};
  const HandMeans two{16, 2, false, false};
  for (const bool same : {true, false}) {
    Round r = round_of({clip}, {{PointId{2}, Side::top}, {PointId{same ? 3u : 1u}, Side::top}});
    r.needles.resize(2);
    r.touches[1].needle = 1;
    r.touches[1].other_stands = true;
    EXPECT_EQ(unnoticed(nets.board(), two, r), same ? 0u : 1u);
  }
}

}  // namespace
}  // namespace isthmus::plan::hand
