// SPDX-License-Identifier: Apache-2.0
// Oracle: closed forms for small boards, docs/guide.md ("How few could do"), and derive(), which knows
// no clips and no landings.
#include <gtest/gtest.h>

#include <algorithm>

#include "isthmus/plan/hand.hpp"
#include "plan/hand/landings.hpp"
#include "tests/plan/nets.hpp"

namespace isthmus::plan {
namespace {

using test::Nets;

constexpr HandMeans kCheck{16, 2, false, true}, kFork{16, 2, true, false},
    kSingle{16, 2, false, false};

HandPlan planned(const Nets& nets, const HandMeans& means, const ClipWish& wish = {}) {
  Diagnostics notes;
  auto plan = plan_by_hand(nets.board(), means, wish, notes);
  EXPECT_TRUE(plan) << format(plan.problem());
  return *plan;
}

// Without clips: as many channels as tips.
HandPlan planned_bare(const Nets& nets) { return planned(nets, {2, 2, false, true}); }

std::size_t untold(const Nets& nets, const HandMeans& means, const std::vector<Round>& rounds) {
  expect::Facts facts;
  for (const Round& r : rounds) hand::add_facts(nets.board(), means, r, r.touches.size(), facts);
  const auto states = expect::derive(nets.board().faults.wiring, facts).state;
  return static_cast<std::size_t>(std::ranges::count(states, expect::FaultState::cannot_tell));
}

// One needle stays on the middle, the other goes round: pairs + 1.
TEST(PlanByHand, AStarOfLonePadsTakesALandingMoreThanPairs) {
  Nets nets;
  for (int i = 0; i < 6; ++i) nets.net("t");
  for (std::size_t i = 1; i < 6; ++i) nets.pair(0, i);
  const HandPlan plan = planned_bare(nets);
  EXPECT_EQ(plan.touches, 6u);
  EXPECT_EQ(plan.bound, 6u);
  EXPECT_TRUE(plan.cannot_tell.empty());
}

// The needles change parts: pairs + 1 along a path, too.
TEST(PlanByHand, APathOfLonePadsTakesALandingMoreThanPairs) {
  Nets nets;
  for (int i = 0; i < 6; ++i) nets.net("t");
  for (std::size_t i = 1; i < 6; ++i) nets.pair(i - 1, i);
  const HandPlan plan = planned_bare(nets);
  EXPECT_LE(plan.touches, 7u);  // it may begin in the middle
  EXPECT_EQ(plan.bound, 6u);
  EXPECT_TRUE(plan.cannot_tell.empty());
}

// Places - pieces further places, a landing each; the first one.
TEST(PlanByHand, ANetWithoutNeighboursTakesALandingAPlace) {
  Nets nets;
  nets.net("tttt");
  const HandPlan plan = planned_bare(nets);
  EXPECT_EQ(plan.touches, 4u);
  EXPECT_EQ(plan.bound, 4u);
}

// Two nets apart are two lots: each begins with a landing that meets nothing.
TEST(PlanByHand, EachLotBeginsWithALanding) {
  Nets nets;
  nets.net("tt").net("tt");
  const HandPlan plan = planned_bare(nets);
  EXPECT_EQ(plan.bound, 4u);
  EXPECT_EQ(plan.touches, 4u);
}

// A clip on the middle of a star serves all pairs: each other place once.
TEST(PlanByHand, AClipInTheMiddleSavesTheMeetings) {
  Nets nets;
  nets.net("Tt");
  for (int i = 0; i < 6; ++i) nets.net("tt");
  for (std::size_t i = 1; i < 7; ++i) nets.pair(0, i);
  const HandPlan plan = planned(nets, {3, 2, false, true});
  ASSERT_EQ(plan.rounds.size(), 1u);
  ASSERT_EQ(plan.rounds[0].clips.size(), 1u);
  EXPECT_EQ(plan.rounds[0].clips[0].point, PointId{0});
  EXPECT_EQ(plan.pairs_unclipped, 0u);
  EXPECT_EQ(plan.touches, 13u);
  EXPECT_EQ(plan.bound, 13u);
}

TEST(PlanByHand, EveryEntryIsExcludedAfterTheLandingsOfAGoodBoard) {
  Nets nets;
  nets.net("Ttt").net("tth").net("hbt").net("t").net("tT").all_pairs();
  for (const HandMeans& means : {kCheck, kFork}) {
    const HandPlan plan = planned(nets, means);
    EXPECT_TRUE(plan.cannot_tell.empty());
    EXPECT_EQ(untold(nets, means, plan.rounds), 0u);
  }
}

TEST(PlanByHand, AnyTouchLessLeavesSomethingOpen) {
  Nets nets;
  nets.net("Tt").net("tt").net("t").pair(0, 1).pair(1, 2);
  const HandPlan plan = planned(nets, {3, 2, false, true});
  for (std::size_t t = 0; t < plan.rounds[0].touches.size(); ++t) {
    auto rounds = plan.rounds;
    auto& touches = rounds[0].touches;
    touches.erase(touches.begin() + static_cast<std::ptrdiff_t>(t));
    EXPECT_GT(untold(nets, kCheck, rounds), 0u) << t;
  }
}

TEST(PlanByHand, TheFirstTouchesLearnTheClips) {
  Nets nets;
  nets.net("Ttt").net("Ttt").net("ttt").all_pairs();
  const HandPlan plan = planned(nets, {4, 2, false, true});
  const Round& r = plan.rounds.at(0);
  ASSERT_EQ(r.clips.size(), 2u);
  const auto net_of = [&](PointId p) { return nets.board().expectation.point(p).net; };
  std::vector<std::string> clipped, learned;
  for (std::size_t i = 0; i < 2; ++i) {
    clipped.push_back(net_of(r.clips[i].point));
    learned.push_back(net_of(r.touches[i].point));
  }
  std::ranges::sort(learned);
  EXPECT_EQ(clipped, learned);
}

TEST(PlanByHand, AStruckOutPlaceIsNotProposed) {
  Nets nets;
  nets.net("TtT").net("tt").pair(0, 1);
  const auto clip = [&](const ClipWish& wish) {
    return planned(nets, {3, 2, false, true}, wish).rounds.at(0).clips;
  };
  const auto first = clip({});
  ASSERT_EQ(first.size(), 1u);
  ClipWish wish;
  wish.struck_out = {first[0].point};
  const auto second = clip(wish);
  ASSERT_EQ(second.size(), 1u);
  EXPECT_NE(second[0].point, first[0].point);
  wish.struck_out.push_back(second[0].point);
  EXPECT_TRUE(clip(wish).empty());
}

// Isolation counts only between two proofs of a clip.
TEST(PlanByHand, WithoutAContactCheckEachClipIsTouchedFirstAndLast) {
  Nets nets;
  nets.net("Ttt").net("Ttt").net("ttt").all_pairs();
  const HandPlan plan = planned(nets, kSingle);
  EXPECT_EQ(untold(nets, kSingle, plan.rounds), plan.cannot_tell.size());
  EXPECT_TRUE(plan.cannot_tell.empty());
  EXPECT_EQ(plan.unnoticed, 0u);  // the first landing on the net without a clip is held
}

TEST(PlanByHand, OneNeedleNeedsRoundsOfClips) {
  Nets nets;
  nets.net("Tt").net("Tt").net("Tt").all_pairs();
  const HandPlan plan = planned(nets, {2, 1, false, true});
  EXPECT_GT(plan.rounds.size(), 1u);
  EXPECT_TRUE(plan.cannot_tell.empty());
}

TEST(PlanByHand, WhatOneNeedleCannotTieIsListed) {
  Nets nets;
  nets.net("tt");
  const HandPlan plan = planned(nets, {2, 1, false, true});
  EXPECT_FALSE(plan.cannot_tell.empty());
}

TEST(PlanByHand, LikelihoodsAddUpToOne) {
  Nets nets;
  nets.net("Ttt").net("tt").net("t").all_pairs();
  const HandPlan plan = planned(nets, kCheck);
  double sum = 0;
  std::size_t excluded = 0;
  for (const Touch& t : plan.rounds.at(0).touches) sum += t.likelihood, excluded += t.excludes;
  EXPECT_NEAR(sum, 1.0, 1e-9);
  EXPECT_GT(excluded, 0u);
}

TEST(PlanByHand, RefusesMeansAndClipsThatCannotBe) {
  Nets nets;
  nets.net("Ttt").net("tt").pair(0, 1);
  Diagnostics notes;
  const auto code = [&](const HandMeans& means, std::vector<HandClip> clips) {
    ClipWish wish;
    wish.fixed = std::move(clips);
    return plan_by_hand(nets.board(), means, wish, notes).problem().code;
  };
  EXPECT_EQ(code({2, 2, true, false}, {}), "HND-001");
  EXPECT_EQ(code(kCheck, {{1, PointId{1}, Side::top, Side::top}}), "HND-002");
  EXPECT_EQ(code(kCheck, {{15, PointId{0}, Side::top, Side::top}}), "HND-004");
}

TEST(TouchesLeft, AreNoneAfterAllWereMade) {
  Nets nets;
  nets.net("Ttt").net("tt").net("t").all_pairs();
  const HandPlan plan = planned(nets, kCheck);
  const Round& r = plan.rounds.at(0);
  expect::Facts facts;
  hand::add_facts(nets.board(), kCheck, r, r.touches.size(), facts);
  const auto left = touches_left(nets.board(), r, kCheck, facts, {}, {});
  EXPECT_LE(left.size(), r.clips.size());  // at most the clips are learned again
}

TEST(TouchesLeft, AreThoseOfThePlanBeforeAnyWasMade) {
  Nets nets;
  nets.net("Ttt").net("tt").net("t").all_pairs();
  const HandPlan plan = planned(nets, kCheck);
  EXPECT_EQ(touches_left(nets.board(), plan.rounds[0], kCheck, {}, {}, {}).size(), plan.touches);
}

TEST(TouchesLeft, LeaveOutWhatCannotBeReached) {
  Nets nets;
  nets.net("Ttt").net("tt").pair(0, 1);
  const HandPlan plan = planned(nets, kCheck);
  const std::vector<PointId> no{PointId{2}};
  for (const Touch& t : touches_left(nets.board(), plan.rounds[0], kCheck, {}, no, {}))
    EXPECT_NE(t.point, no[0]);
}

}  // namespace
}  // namespace isthmus::plan
