// SPDX-License-Identifier: Apache-2.0
// Oracle: the rules of docs/formats/fixture.md, and the small board's drawing: U1.1 to U3.2 on top,
// U4.2 at [22, 12] on the bottom, plated holes at [12, 6], [22, 6] and [12, 12].
#include <gtest/gtest.h>

#include <algorithm>

#include "isthmus/plan/laying.hpp"
#include "isthmus/plan/plan.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::plan {
namespace {

using formats::ProbeEntry;

constexpr const char* kHole = "VIA@12.000,6.000";

class ProbeSides : public testing::Test {
 protected:
  static formats::FixtureFile fixture(Side side, std::map<Channel, ProbeEntry> probes) {
    formats::FixtureFile f;
    f.channels = 16;
    f.placements = {{"A", side, std::move(probes), {}}};
    return f;
  }
  static ProbeEntry probe(const std::string& point, std::optional<Side> side = {}) {
    ProbeEntry entry;
    entry.point = point;
    entry.side = side;
    return entry;
  }
  static ProbeEntry clip(const std::string& point, std::optional<Side> side = {}) {
    ProbeEntry entry = probe(point, side);
    entry.clip = true;
    return entry;
  }
  static ProbeEntry at(double x, double y, ProbeEntry entry = {}) {
    entry.at = position_mm(x, y);
    return entry;
  }
  Placement resolved(Side side, std::map<Channel, ProbeEntry> probes) {
    auto placements = placements_of(small_.board(), fixture(side, std::move(probes)), notes_);
    if (!placements) throw std::runtime_error(format(placements.problem()));
    return placements->at(0);
  }
  Problem refused(Side side, const ProbeEntry& entry) {
    const auto placements = placements_of(small_.board(), fixture(side, {{1, entry}}), notes_);
    return placements ? Problem{} : placements.problem();
  }
  [[nodiscard]] const std::string& id(const Probe& p) const {
    return small_.board().expectation.point(p.point).id;
  }
  test::SmallBoard small_{"joined", true};
  Diagnostics notes_;
};

TEST_F(ProbeSides, APlatesProbesTouchItsSide) {
  EXPECT_EQ(resolved(Side::top, {{1, probe(kHole)}}).probe(1).side, Side::top);
  EXPECT_EQ(resolved(Side::bottom, {{1, probe(kHole)}}).probe(1).side, Side::bottom);
}

TEST_F(ProbeSides, BetweenTwoPlatesAProbeTouchesItsSideOrItsPointsOrTheTop) {
  const Placement p = resolved(
      Side::both,
      {{1, probe("U1.1")}, {2, probe("U4.2")}, {3, probe(kHole)}, {4, probe(kHole, Side::bottom)}});
  EXPECT_EQ(p.side, Side::both);
  EXPECT_EQ(p.probe(1).side, Side::top);
  EXPECT_EQ(p.probe(2).side, Side::bottom);
  EXPECT_EQ(p.probe(3).side, Side::top);
  EXPECT_EQ(p.probe(4).side, Side::bottom);
}

TEST_F(ProbeSides, AClipTouchesTheFarSideWhereItsPointIsAndElseThePlates) {
  const Placement p = resolved(Side::top, {{1, probe("U1.1")},
                                           {2, clip("U4.2")},
                                           {3, clip(kHole)},
                                           {4, clip("U3.1")},
                                           {5, clip("VIA@22.000,6.000", Side::top)}});
  EXPECT_FALSE(p.probe(1).clip);
  for (const Channel c : {2, 3, 4, 5}) EXPECT_TRUE(p.probe(c).clip) << c;
  EXPECT_EQ(p.probe(2).side, Side::bottom);
  EXPECT_EQ(p.probe(3).side, Side::bottom);
  EXPECT_EQ(p.probe(4).side, Side::top);
  EXPECT_EQ(p.probe(5).side, Side::top);
}

TEST_F(ProbeSides, ABarePlaceIsThePadOnTheSideTouched) {
  ProbeEntry behind = at(22.1, 12);
  behind.clip = true;
  const Placement p = resolved(Side::top, {{1, at(2.1, 12)}, {2, behind}});
  EXPECT_EQ(id(p.probe(1)), "U1.6");
  EXPECT_EQ(id(p.probe(2)), "U4.2");
  EXPECT_EQ(p.probe(2).side, Side::bottom);
  EXPECT_EQ(refused(Side::top, at(22, 12)).code, "PLN-004");
}

TEST_F(ProbeSides, WhatCannotBeReachedFromThatSideIsRefused) {
  EXPECT_EQ(refused(Side::top, probe("U4.2")).code, "PLN-002");
  EXPECT_EQ(refused(Side::both, probe("U4.2", Side::top)).code, "PLN-002");
  const Problem clipped = refused(Side::top, clip("U1.1", Side::bottom));
  EXPECT_EQ(clipped.code, "PLN-002");
  EXPECT_EQ(clipped.message, "U1.1 lies on the top side, this clip touches the bottom side");
}

// A hole that nothing joins is two points.
TEST(ProbeSidesBeforeJoins, APlainHoleIsTheEndOnTheSideTouched) {
  const test::SmallBoard small("etched");
  formats::FixtureFile f;
  f.channels = 4;
  f.placements = {{"A", Side::both, {}, {}}, {"B", Side::top, {}, {}}};
  f.placements[0].probes[1].point = kHole;
  f.placements[0].probes[2].point = kHole;
  f.placements[0].probes[2].side = Side::bottom;
  f.placements[1].probes[1].point = kHole;
  f.placements[1].probes[1].clip = true;
  Diagnostics notes;
  const auto placements = placements_of(small.board(), f, notes);
  ASSERT_TRUE(placements) << format(placements.problem());
  const auto id = [&](std::size_t placement, Channel c) {
    return small.board().expectation.point(placements->at(placement).probe(c).point).id;
  };
  EXPECT_EQ(id(0, 1), "VIA@12.000,6.000@top");
  EXPECT_EQ(id(0, 2), "VIA@12.000,6.000@bottom");
  EXPECT_EQ(id(1, 1), "VIA@12.000,6.000@bottom");
  EXPECT_TRUE(notes.list().empty());
}

TEST_F(ProbeSides, TipsOnEitherSideOfAHoleNeitherTouchNorAreOneTipTwice) {
  resolved(Side::both, {{1, probe(kHole, Side::top)}, {2, probe(kHole, Side::bottom)}});
  EXPECT_TRUE(notes_.list().empty());
  resolved(Side::both, {{1, probe(kHole, Side::bottom)}, {2, clip(kHole, Side::bottom)}});
  ASSERT_EQ(notes_.list().size(), 1u);
  EXPECT_EQ(notes_.list()[0].what.code, "PLN-006");
}

// The pad of U1.1 is a circle of 0.5 mm at [2, 2]; its track of 0.3 mm runs along y = 2.
TEST_F(ProbeSides, APlaceBesideThePadIsRefusedEvenOnTheTrackOfItsNet) {
  EXPECT_EQ(refused(Side::top, at(2.2, 2, probe("U1.1"))).code, "");
  const Problem off = refused(Side::top, at(2.3, 2, probe("U1.1")));
  EXPECT_EQ(off.code, "PLN-009");
  EXPECT_EQ(off.message, "2.300, 2.000 does not lie on the pad of U1.1, which is at 2.000, 2.000");
  EXPECT_EQ(refused(Side::top, at(2, 3, probe("U1.1"))).code, "PLN-009");  // on U1.2's pad
  EXPECT_EQ(refused(Side::both, at(22, 12.3, probe("U4.2"))).code, "PLN-009");
}

TEST_F(ProbeSides, EveryContinuityBetweenTheSidesIsForetold) {
  auto plan = test::foretold_plan(
      small_.board(), fixture(Side::top, {{1, probe("U1.6")}, {2, clip("U4.2")}}), {}, notes_);
  ASSERT_TRUE(plan) << format(plan.problem());
  std::size_t continuity = 0;
  for (const Step& s : plan->steps) {
    EXPECT_EQ(&plan->step(s.id), &s);
    if (s.kind != StepKind::continuity) continue;
    ++continuity;
    ASSERT_TRUE(s.predicted.has_value());
    // Two tracks of 10 mm by 0.3 mm in 35 um of copper: 2 * 33 squares of 0.49 mohm.
    EXPECT_NEAR(s.predicted->ohms.value, 0.033, 0.007);
  }
  EXPECT_GT(continuity, 0u);
  EXPECT_TRUE(
      std::ranges::none_of(plan->untested, [](const Untested& u) { return u.net == "GOLF"; }));
}

// As Layings.ThatReadAlikeAreNamed: turned about the middle of the four, it reads the same.
TEST_F(ProbeSides, AClipStaysAndTellsATurnedPlateApart) {
  const auto words = [&](bool clips) {
    ProbeEntry third = clip("U3.1"), fourth = clip("U3.2");
    third.clip = fourth.clip = clips;
    const Placement p =
        resolved(Side::top, {{1, probe("U1.1")}, {2, probe("U1.2")}, {3, third}, {4, fourth}});
    return indistinguishable_layings(small_.board(), p);
  };
  const auto turned = [](const std::vector<std::string>& list) {
    return std::ranges::count(list, "turned by 180 degrees");
  };
  EXPECT_EQ(turned(words(false)), 1);
  EXPECT_EQ(turned(words(true)), 0);
}

TEST_F(ProbeSides, OnlyThePlatesProbesLandElsewhere) {
  const Laying shifted{"", [](Position p) { return p + Position{1, 2}; }};
  Probe probe;
  EXPECT_EQ(landing(shifted, probe), (Position{1, 2}));
  probe.clip = true;
  EXPECT_EQ(landing(shifted, probe), (Position{0, 0}));
}

TEST_F(ProbeSides, WhatNobodyHasIsABugOfOurs) {
  const Placement p = resolved(Side::top, {{1, probe("U1.1")}});
  EXPECT_ANY_THROW((void)p.probe(2));
  EXPECT_ANY_THROW((void)Plan{}.step(StepId{1}));
}

}  // namespace
}  // namespace isthmus::plan
