// SPDX-License-Identifier: Apache-2.0
// Oracle: the promises checked one by one on the finished fixture, and published lower bounds: a
// placement of N probes holds at most N points; a net of k points needs (k-1)/(N-1) placements; all
// pairs of 2N groups need six placements of N (covering design C(2N, N, 2): Gordon, Kuperberg,
// Patashnik, math/9502238).
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>
#include <set>

#include "isthmus/plan/plan.hpp"
#include "plan/make_fixture_sides.hpp"

namespace isthmus::test {
namespace {

using expect::Board;
using formats::FixtureFile;
using plan::FixtureWish;

class Nets {
 public:
  Nets() {
    board_.design.board.name = "tide-gauge";
    board_.hash = "cafe";
    board_.expectation.stage = Stage::joined;
  }
  // Points of one net; 't' top, 'b' bottom, 'h' hole, 'v' via that is not required, 'w' waived.
  Nets& net(const std::string& kinds) {
    auto& e = board_.expectation;
    expect::Group group;
    group.net = "N" + std::to_string(e.groups.size());
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      expect::Point p;
      p.id = group.net + "." + std::to_string(i + 1);
      p.net = group.net;
      p.at =
          position_mm(2.54 * static_cast<double>(i), 2.54 * static_cast<double>(e.groups.size()));
      const char k = kinds[i];
      p.side = k == 'b' ? Side::bottom : k == 'h' || k == 'v' ? Side::both : Side::top;
      p.via = k == 'v';
      p.required = k != 'v';
      p.waived = k == 'w';
      p.group = static_cast<GroupId>(e.groups.size());
      group.points.push_back(static_cast<PointId>(e.points.size()));
      e.points.push_back(std::move(p));
    }
    e.groups.push_back(std::move(group));
    return *this;
  }
  Nets& pair(std::size_t a, std::size_t b) {
    expect::Pair p;
    p.a = static_cast<GroupId>(std::min(a, b));
    p.b = static_cast<GroupId>(std::max(a, b));
    board_.expectation.pairs.push_back(p);
    return *this;
  }
  Nets& all_pairs() {
    for (std::size_t a = 0; a < board_.expectation.groups.size(); ++a) {
      for (std::size_t b = a + 1; b < board_.expectation.groups.size(); ++b) pair(a, b);
    }
    return *this;
  }
  [[nodiscard]] const Board& board() const { return board_; }
  [[nodiscard]] FixtureFile fixture(int channels, bool check) const {
    Diagnostics notes;
    auto f = plan::make_fixture(board_, {channels, check}, notes);
    EXPECT_TRUE(f.ok());
    return f.ok() ? *f : FixtureFile{};
  }

 private:
  Board board_;
};

// What a fixture proves, by names alone.
class Proof {
 public:
  Proof(const Board& board, const FixtureFile& f)
      : board_(board), parent_(board.expectation.points.size()) {
    for (std::size_t i = 0; i < parent_.size(); ++i) parent_[i] = i;
    for (const auto& p : f.placements) read(p, f);
  }
  std::vector<std::string> broken() {
    const auto& e = board_.expectation;
    for (std::size_t i = 0; i < e.points.size(); ++i) {
      const bool wanted = e.points[i].required && !e.points[i].waived;
      if (wanted && !laid_.count(i)) broken_.push_back(e.points[i].id + " is not laid");
      if (e.points[i].waived && laid_.count(i)) broken_.push_back(e.points[i].id + " is waived");
    }
    for (const auto& g : e.groups) {
      std::set<std::size_t> roots;
      for (const PointId p : g.points) {
        if (laid_.count(index(p))) roots.insert(root(index(p)));
      }
      if (roots.size() > 1) broken_.push_back(g.net + " falls apart");
    }
    for (const auto& p : e.pairs) {
      if (!met_.count({p.a, p.b})) {
        broken_.push_back(e.group(p.a).net + " and " + e.group(p.b).net + " never meet");
      }
    }
    return broken_;
  }

 private:
  std::size_t root(std::size_t i) const { return parent_[i] == i ? i : root(parent_[i]); }

  std::size_t point(const formats::ProbeEntry& entry) {
    const auto& points = board_.expectation.points;
    const auto at = std::find_if(points.begin(), points.end(),
                                 [&](const auto& p) { return p.id == entry.point; });
    EXPECT_NE(at, points.end());
    EXPECT_EQ(entry.at, at->at);
    return static_cast<std::size_t>(at - points.begin());
  }

  void read(const formats::PlacementEntry& placement, const FixtureFile& f) {
    std::set<int> channels;
    std::map<GroupId, std::vector<std::size_t>> here;
    std::map<GroupId, bool> proven;
    for (const auto& [channel, entry] : placement.probes) {
      channels.insert(channel);
      if (entry.twin) channels.insert(*entry.twin);
      const std::size_t i = point(entry);
      const auto& p = board_.expectation.points[i];
      if (p.side != Side::both && p.side != placement.side)
        broken_.push_back(p.id + " on the wrong side");
      laid_.insert(i);
      auto& list = here[*p.group];
      if (!list.empty()) parent_[root(i)] = root(list.front());
      list.push_back(i);
      proven[*p.group] = f.contact_check || entry.twin || list.size() > 1;
    }
    std::size_t tips = placement.probes.size();
    for (const auto& [channel, entry] : placement.probes) tips += entry.twin.has_value();
    if (channels.size() != tips) broken_.push_back("a channel twice in " + placement.name);
    if (!channels.empty() && (*channels.begin() < 1 || *channels.rbegin() > f.channels)) {
      broken_.push_back("channels of " + placement.name);
    }
    for (const auto& [a, list] : here) {
      for (const auto& [b, other] : here) {
        if (a < b && proven[a] && proven[b]) met_.insert({a, b});
      }
    }
  }

  const Board& board_;
  std::vector<std::size_t> parent_;
  std::set<std::size_t> laid_;
  std::set<std::pair<GroupId, GroupId>> met_;
  std::vector<std::string> broken_;
};

std::vector<std::string> broken(const Nets& nets, const FixtureFile& f) {
  return Proof(nets.board(), f).broken();
}
using None = std::vector<std::string>;

Nets random_board(unsigned seed, std::size_t groups, const std::string& kinds) {
  std::mt19937 draw(seed);
  Nets nets;
  for (std::size_t g = 0; g < groups; ++g) {
    std::string points(1 + draw() % (g == 0 ? 60 : 7), 't');
    for (char& c : points) c = kinds[draw() % kinds.size()];
    nets.net(points);
  }
  std::set<std::pair<std::size_t, std::size_t>> seen;
  for (std::size_t i = 0; i < 3 * groups;
       ++i) {  // planar-like: neighbours in one direction, and the large net
    const std::size_t a = draw() % groups;
    const std::size_t b = draw() % 4 == 0 ? 0 : (a + 1 + draw() % 5) % groups;
    if (a != b && seen.insert(std::minmax(a, b)).second) nets.pair(a, b);
  }
  return nets;
}

std::size_t points_of(const Nets& nets) { return nets.board().expectation.points.size(); }

TEST(MakeFixture, OnePlacementHoldsWhatFits) {
  Nets nets;
  nets.net("tt").net("hh").net("th").all_pairs();
  const auto f = nets.fixture(6, true);
  ASSERT_EQ(f.placements.size(), 1u);
  EXPECT_EQ(f.placements[0].name, "A");
  EXPECT_EQ(f.placements[0].side, Side::top);
  EXPECT_EQ(f.placements[0].probes.size(), 6u);
  EXPECT_EQ(broken(nets, f), None{});
}

TEST(MakeFixture, SaysWhatItWasMadeFor) {
  Nets nets;
  const auto f = nets.net("tt").fixture(16, false);
  EXPECT_EQ(f.channels, 16);
  EXPECT_FALSE(f.contact_check);
  EXPECT_EQ(f.made_for_board, "tide-gauge");
  EXPECT_EQ(f.made_for_stage, "joined");
  EXPECT_EQ(f.made_for_hash, "cafe");
}

TEST(MakeFixture, LonePointNeedsATwinOnlyWithoutContactCheck) {
  Nets nets;
  nets.net("t").net("tt").all_pairs();
  EXPECT_EQ(nets.fixture(4, true).placements[0].probes.at(1).twin, std::nullopt);
  const auto f = nets.fixture(4, false);
  EXPECT_EQ(f.placements[0].probes.at(1).twin, 2);
  EXPECT_EQ(broken(nets, f), None{});
}

TEST(MakeFixture, EveryTipHasATwinWithoutContactCheck) {
  Nets nets;
  nets.net("ttt").net("tt").net("t").all_pairs();
  const auto f = nets.fixture(16, false);
  ASSERT_EQ(f.placements.size(), 1u);
  EXPECT_EQ(f.placements[0].probes.size(), 6u);
  for (const auto& [channel, entry] : f.placements[0].probes) EXPECT_EQ(entry.twin, channel + 1);
  EXPECT_EQ(broken(nets, f), None{});
}

TEST(MakeFixture, OnFewChannelsASecondPointIsBetterThanATwin) {
  Nets nets;
  nets.net("tv").net("tt").all_pairs();
  const auto f = nets.fixture(4, false);
  ASSERT_EQ(f.placements.size(), 1u);
  EXPECT_EQ(f.placements[0].probes.size(), 4u);
}

TEST(MakeFixture, LargeNetSharesAPointBetweenPlacements) {
  Nets nets;
  nets.net(std::string(16, 't'));
  for (const int n : {2, 4, 6}) {
    const auto f = nets.fixture(n, true);
    EXPECT_EQ(f.placements.size(),
              (15u + static_cast<unsigned>(n) - 2) / (static_cast<unsigned>(n) - 1));
    EXPECT_EQ(broken(nets, f), None{});
  }
}

TEST(MakeFixture, WaivedPointsAreLeftAlone) {
  Nets nets;
  nets.net("twt").net("w").all_pairs();
  const auto f = nets.fixture(8, true);
  ASSERT_EQ(f.placements.size(), 1u);
  EXPECT_EQ(f.placements[0].probes.size(), 2u);
}

TEST(MakeFixture, HolesGoWithTheSurfacePadsOfTheirNet) {
  Nets nets;
  nets.net("bh").net("th").net("hh");
  const auto f = nets.fixture(8, true);
  ASSERT_EQ(f.placements.size(), 2u);
  EXPECT_EQ(f.placements[0].side, Side::top);
  EXPECT_EQ(f.placements[0].probes.size(), 4u);
  EXPECT_EQ(f.placements[1].side, Side::bottom);
  EXPECT_EQ(f.placements[1].probes.size(), 2u);
  EXPECT_EQ(broken(nets, f), None{});
}

TEST(MakeFixture, NetOnBothSidesIsTiedThroughAHole) {
  Nets nets;
  nets.net("tthbb").net("tbv");
  EXPECT_EQ(broken(nets, nets.fixture(8, true)), None{});
}

TEST(MakeFixture, PairsOfDifferentSidesMeetWhereBothHaveAHole) {
  Nets nets;
  nets.net("bb").net("tt").net("bh").net("tt").pair(0, 2).pair(1, 3).pair(2, 3);
  EXPECT_EQ(broken(nets, nets.fixture(8, true)), None{});
}

TEST(MakeFixture, AllPairsOfTwiceTheChannelsNeedAboutSixPlacements) {
  for (const int n : {8, 16, 32}) {
    Nets nets;
    for (int i = 0; i < 2 * n; ++i) nets.net("t");
    nets.all_pairs();
    const auto f = nets.fixture(n, true);
    EXPECT_EQ(broken(nets, f), None{});
    EXPECT_GE(f.placements.size(), 6u);
    EXPECT_LE(f.placements.size(), 12u);  // the greedy way is within a factor of two here
  }
}

TEST(MakeFixture, KeepsEveryPromiseOnDrawnBoards) {
  for (unsigned seed = 1; seed <= 12; ++seed) {
    const Nets nets = random_board(seed, 40, "tttthhv");
    for (const int n : {4, 8, 16, 64, 256}) {
      for (const bool check : {true, false}) {
        if (n < 4) continue;
        const auto f = nets.fixture(n, check);
        EXPECT_EQ(broken(nets, f), None{})
            << "seed " << seed << ", " << n << " channels, check " << check;
      }
    }
  }
}

TEST(MakeFixture, TwoChannelsWithContactCheckAreEnoughForEverything) {
  const Nets nets = random_board(3, 20, "tth");
  EXPECT_EQ(broken(nets, nets.fixture(2, true)), None{});
}

TEST(MakeFixture, TwoChannelsWithoutContactCheckStillProveContinuity) {
  Nets nets;
  nets.net("ttt").net("tt").all_pairs();
  EXPECT_EQ(broken(nets, nets.fixture(2, false)), (None{"N0 and N1 never meet"}));
}

TEST(MakeFixture, IsNotFarFromTheBound) {
  const Nets nets = random_board(7, 100, "tth");
  const auto f = nets.fixture(64, true);
  EXPECT_GE(f.placements.size(), (points_of(nets) + 63) / 64);
  EXPECT_LE(f.placements.size(), 2 * ((points_of(nets) + 63) / 64));
}

TEST(MakeFixture, IsTheSameEveryTime) {
  const Nets nets = random_board(5, 60, "ttbhv");
  EXPECT_EQ(formats::write_fixture_file(nets.fixture(16, false)),
            formats::write_fixture_file(nets.fixture(16, false)));
}

// Island numbers: top 0, 1, 2...; bottom 10, 11...
class TwoSides {
 public:
  PointId point(std::optional<unsigned> top, std::optional<unsigned> bottom) {
    expect::Point p;
    p.side = top && bottom ? Side::both : top ? Side::top : Side::bottom;
    p.islands.resize(2);
    if (top) p.islands[0] = static_cast<IslandId>(*top);
    if (bottom) p.islands[1] = static_cast<IslandId>(*bottom);
    p.group = GroupId{0};
    p.id = "P" + std::to_string(board.expectation.points.size());
    p.at = position_mm(2.54 * static_cast<double>(board.expectation.points.size()), 0);
    board.expectation.points.push_back(p);
    const auto id = static_cast<PointId>(board.expectation.points.size() - 1);
    group().points.push_back(id);
    for (const auto& island : p.islands) {
      if (island) group().islands.push_back(*island);
    }
    return id;
  }
  PointId hole(unsigned top, unsigned bottom) {
    expect::Join join;
    join.conducts = true;
    join.islands = {static_cast<IslandId>(top), static_cast<IslandId>(bottom)};
    board.expectation.joins.push_back(join);
    return point(top, bottom);
  }
  expect::Group& group() {
    if (board.expectation.groups.empty()) board.expectation.groups.emplace_back();
    return board.expectation.groups.front();
  }
  [[nodiscard]] bool together(const std::vector<PointId>& top,
                              const std::vector<PointId>& bottom) const {
    return plan::sides_hang_together(board, GroupId{0}, top, bottom);
  }
  Board board;
};

TEST(Sides, TouchingBothEndsOfOneHoleProvesNothingOfItsJoin) {
  TwoSides t;
  const PointId r1 = t.point(0, {});
  const PointId r2 = t.point({}, 10);
  const PointId via = t.hole(0, 10);
  EXPECT_FALSE(t.together({r1, via}, {via, r2}));
}

TEST(Sides, CurrentThatMustRunBelowProvesTheJoins) {
  TwoSides t;
  const PointId r1 = t.point(0, {});
  const PointId r2 = t.point({}, 10);
  const PointId r3 = t.point(1, {});
  const PointId left = t.hole(0, 10);
  const PointId right = t.hole(1, 10);
  EXPECT_TRUE(t.together({r1, r3}, {r2, left, right}));
  EXPECT_FALSE(t.together({r1}, {r2}));  // nothing ran anywhere
}

TEST(Sides, CurrentThatHasAnotherWayProvesNothing) {
  TwoSides t;
  const PointId r1 = t.point(0, {});
  const PointId r2 = t.point({}, 10);
  const PointId r3 = t.point(1, {});
  t.hole(0, 10), t.hole(1, 10), t.hole(0, 11), t.hole(1, 11);  // two ways from 0 to 1
  EXPECT_FALSE(t.together({r1, r3}, {r2}));
}

TEST(Sides, PointsOfOneSideNeedNoProof) {
  TwoSides t;
  const PointId r1 = t.point(0, {});
  EXPECT_TRUE(t.together({r1}, {}));
}

TEST(Sides, VisitFromTheOtherSideTakesTwoHolesWhoseCurrentRunsBelow) {
  TwoSides t;
  const PointId r1 = t.point({}, 10);
  const PointId left = t.hole(0, 10);
  const PointId right = t.hole(1, 10);
  const auto sides = plan::tie_sides(t.board, GroupId{0}, {{}, {r1}}, {left, right});
  EXPECT_EQ(sides.top, (std::vector{left, right}));
  EXPECT_EQ(sides.bottom, (std::vector{r1}));
}

TEST(Sides, WithoutProofOneHoleIsTouchedFromBothSides) {
  TwoSides t;
  const PointId r1 = t.point({}, 10);
  const PointId only = t.hole(0, 10);
  const auto sides = plan::tie_sides(t.board, GroupId{0}, {{}, {r1}}, {only});
  EXPECT_EQ(sides.top, (std::vector{only}));
  EXPECT_EQ(sides.bottom, (std::vector{r1, only}));
}

TEST(Sides, PlaneThatBothSidesNeedTiesThem) {
  TwoSides t;
  const PointId r1 = t.point(0, {});
  const PointId r2 = t.point(1, {});
  const PointId r3 = t.point({}, 10);
  const PointId r4 = t.point({}, 11);
  t.group().islands.push_back(IslandId{5});  // on an inner layer
  for (const unsigned island : {0u, 1u, 10u, 11u}) {
    expect::Join join;
    join.conducts = true;
    join.islands = {static_cast<IslandId>(island), IslandId{5}};
    t.board.expectation.joins.push_back(join);
  }
  EXPECT_TRUE(t.together({r1, r2}, {r3, r4}));
  EXPECT_FALSE(t.together({r1}, {r3, r4}));
}

TEST(MakeFixture, TouchesNoHoleFromBelowWhereCurrentRanAboveAnyway) {
  TwoSides t;
  t.point(0, {});
  t.point({}, 10);
  t.point({}, 11);
  t.hole(0, 10);
  t.hole(0, 11);  // the bottom's two islands meet only on top
  Diagnostics notes;
  const auto f = plan::make_fixture(t.board, {8, true}, notes);
  ASSERT_TRUE(f.ok());
  ASSERT_EQ(f->placements.size(), 2u);
  EXPECT_EQ(f->placements[0].probes.size(), 3u);
  EXPECT_EQ(f->placements[1].probes.size(), 2u);
}

TEST(MakeFixture, TouchesAHoleFromBelowWhereThatProvesItsJoin) {
  TwoSides t;
  t.point(0, {});
  t.point({}, 10);
  t.hole(0, 10);
  t.hole(0, 11);  // from below, 10 and 11 conduct only through the top
  Diagnostics notes;
  const auto f = plan::make_fixture(t.board, {8, true}, notes);
  ASSERT_TRUE(f.ok());
  EXPECT_EQ(f->placements.at(1).probes.size(), 2u);
  EXPECT_EQ(f->placements[1].probes.at(2).point, "P3");
}

TEST(MakeFixture, RefusesWhatNoFixtureCanBe) {
  Nets nets;
  nets.net("tt");
  Diagnostics notes;
  EXPECT_EQ(plan::make_fixture(nets.board(), {1, true}, notes).problem().code, "PLN-101");
  EXPECT_EQ(plan::make_fixture(nets.board(), {257, true}, notes).problem().code, "PLN-101");
  Nets waived;
  waived.net("ww");
  EXPECT_EQ(plan::make_fixture(waived.board(), {16, true}, notes).problem().code, "PLN-102");
}

}  // namespace
}  // namespace isthmus::test
