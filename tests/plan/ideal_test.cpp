// SPDX-License-Identifier: Apache-2.0
// Oracle: what contacts are proven by, docs/expectation.md: a contact check, a twin, or another tip
// that it conducts to.
#include "plan/ideal.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "tests/plan/nets.hpp"

namespace isthmus::plan {
namespace {

using test::Nets;

class IdealFacts : public ::testing::Test {
 protected:
  // N0 and N1 of two points on top, N2 of one hole between both sides.
  IdealFacts() { nets_.net("tt").net("tt").net("thb").all_pairs(); }
  Probe probe(std::uint32_t point, Side side = Side::top, std::optional<Channel> twin = {}) {
    return {++channel_, PointId{point}, {}, twin, side, side == Side::bottom};
  }
  expect::Facts facts(std::vector<Probe> probes, bool check) {
    Placement p;
    p.probes = std::move(probes);
    return ideal_facts(nets_.board(), {p}, check);
  }
  std::uint32_t node(std::uint32_t point, Side side = Side::top) const {
    return nets_.board().faults.node_of(PointId{point}, side);
  }
  static bool says(const std::vector<expect::Facts::Two>& list, std::uint32_t a, std::uint32_t b) {
    return std::ranges::any_of(list, [&](const expect::Facts::Two& t) {
      return std::minmax(t.a, t.b) == std::minmax(a, b);
    });
  }
  Nets nets_;
  Channel channel_{};
};

TEST_F(IdealFacts, ALoneTipThatNothingProvesSaysNothing) {
  const auto none = facts({probe(0), probe(2)}, false);
  EXPECT_TRUE(none.touched.empty());
  EXPECT_TRUE(none.two_pieces.empty());
}

TEST_F(IdealFacts, AContactCheckOrATwinProvesALoneTip) {
  for (const bool check : {true, false}) {
    const std::optional<Channel> twin = check ? std::nullopt : std::optional<Channel>(9);
    const auto both = facts({probe(0, Side::top, twin), probe(2, Side::top, twin)}, check);
    EXPECT_EQ(both.touched, (std::vector{node(0), node(2)}));
    ASSERT_EQ(both.two_pieces.size(), 1u);
    EXPECT_TRUE(says(both.two_pieces, node(0), node(2)));
  }
}

TEST_F(IdealFacts, TwoTipsOfAPieceProveEachOther) {
  const auto two = facts({probe(0), probe(1), probe(2)}, false);
  EXPECT_EQ(two.touched, (std::vector{node(0), node(1)}));
  EXPECT_TRUE(says(two.one_piece, node(0), node(1)));
  EXPECT_TRUE(two.two_pieces.empty());
}

TEST_F(IdealFacts, ATipBehindTouchesTheCopperOfItsSide) {
  const auto tied = facts({probe(4), probe(5, Side::bottom), probe(6, Side::bottom)}, true);
  EXPECT_EQ(tied.touched, (std::vector{node(4), node(5, Side::bottom), node(6, Side::bottom)}));
  EXPECT_TRUE(says(tied.one_piece, node(4), node(6, Side::bottom)));
}

TEST_F(IdealFacts, OnlyPlacementsInWhichTwoMeetSayThatTheyAreTwo) {
  Placement a, b;
  a.probes = {probe(0), probe(1)};
  b.probes = {probe(2), probe(3)};
  const auto apart = ideal_facts(nets_.board(), {a, b}, true);
  EXPECT_EQ(apart.touched.size(), 4u);
  EXPECT_TRUE(apart.two_pieces.empty());
}

TEST_F(IdealFacts, WhatMayConductIsNotSaidToBeTwo) {
  expect::Board tied = nets_.board();
  tied.faults.wiring.tied = {{0, 1}};
  Placement p;
  p.probes = {probe(0), probe(2), probe(4)};
  const auto f = ideal_facts(tied, {p}, true);
  EXPECT_FALSE(says(f.two_pieces, node(0), node(2)));
  EXPECT_TRUE(says(f.two_pieces, node(0), node(4)));
}

}  // namespace
}  // namespace isthmus::plan
