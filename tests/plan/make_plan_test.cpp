// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <map>
#include <set>

#include "isthmus/plan/laying.hpp"
#include "isthmus/plan/plan.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::plan {
namespace {

std::unique_ptr<expect::Board> load(const std::filesystem::path& file, const std::string& stage) {
  auto read = formats::read_board_file(file, {{"stage", stage}});
  EXPECT_TRUE(read);
  Diagnostics notes;
  auto board = expect::load_board(*read, notes);
  EXPECT_TRUE(board);
  return std::move(board).value();
}

class OnTideGauge : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    board_ = load(test::source_dir() / "fixtures/tide-gauge/board.yaml", "joined");
    Diagnostics notes;
    auto fixture = make_fixture(*board_, {64, true}, notes);
    ASSERT_TRUE(fixture);
    auto plan = make_plan(*board_, *fixture, {4, {10.0}}, notes);
    ASSERT_TRUE(plan);
    plan_ = std::make_unique<Plan>(std::move(plan).value());
  }
  static void TearDownTestSuite() {
    plan_.reset();
    board_.reset();
  }
  static inline std::unique_ptr<expect::Board> board_;
  static inline std::unique_ptr<Plan> plan_;

  static std::map<Channel, GroupId> groups_of(std::size_t placement) {
    std::map<Channel, GroupId> groups;
    for (const Probe& p : plan_->placements[placement].probes) {
      if (const auto& g = board_->expectation.point(p.point).group) groups[p.channel] = *g;
    }
    return groups;
  }
  // Groups that lie on opposite rows of some step of that kind.
  static std::set<std::pair<GroupId, GroupId>> parted_in(std::size_t placement, StepKind kind) {
    std::set<std::pair<GroupId, GroupId>> parted;
    const auto groups = groups_of(placement);
    for (const Step& s : plan_->steps) {
      if (s.placement != placement || s.kind != kind) continue;
      for (const Channel a : s.source) {
        for (const Channel b : s.ret) parted.insert(std::minmax(groups.at(a), groups.at(b)));
      }
    }
    return parted;
  }
};

// A step puts two groups to the test when they lie on opposite rows. Near or far: a long splash, or
// a chain through copper that broke off, has ends that are no neighbours.
TEST_F(OnTideGauge, EveryTwoGroupsOfAPlacementAreOnOppositeSidesOfSomeIsolationStep) {
  std::size_t pairs = 0;
  for (std::size_t p = 0; p < plan_->placements.size(); ++p) {
    const auto groups = groups_of(p);
    const auto parted = parted_in(p, StepKind::isolation);
    for (const auto& [c, a] : groups) {
      for (const auto& [d, b] : groups) {
        if (b <= a || expect::may_conduct(*board_, a, b)) continue;
        EXPECT_TRUE(parted.contains({a, b}))
            << plan_->placements[p].name << ": " << board_->expectation.group(a).net << " and "
            << board_->expectation.group(b).net;
        ++pairs;
      }
    }
  }
  EXPECT_GT(pairs, 200u);
}

TEST_F(OnTideGauge, EveryPairOfNeighboursMeetsInSomePlacement) {
  std::set<std::pair<GroupId, GroupId>> parted;
  for (std::size_t p = 0; p < plan_->placements.size(); ++p)
    parted.merge(parted_in(p, StepKind::isolation));
  EXPECT_GT(board_->expectation.pairs.size(), 200u);
  for (const expect::Pair& p : board_->expectation.pairs) {
    EXPECT_TRUE(parted.contains({p.a, p.b}))
        << board_->expectation.group(p.a).net << " and " << board_->expectation.group(p.b).net;
  }
  EXPECT_TRUE(plan_->untested.empty());
}

TEST_F(OnTideGauge, EveryTwoGroupsOfAPlacementAreLookedAtForAVoltageBetweenThem) {
  for (std::size_t p = 0; p < plan_->placements.size(); ++p) {
    std::set<GroupId> present;
    for (const auto& [channel, group] : groups_of(p)) present.insert(group);
    EXPECT_EQ(parted_in(p, StepKind::board_voltage).size(),
              present.size() * (present.size() - 1) / 2)
        << plan_->placements[p].name;
  }
}

// Alone on its row a switch is what conducts, whatever conducts beside it.
TEST_F(OnTideGauge, EverySwitchOfAnIsolationBlockConductsOnceUnderItsLargestLoad) {
  for (std::size_t p = 0; p < plan_->placements.size(); ++p) {
    std::size_t largest = 0;
    std::set<std::pair<int, Channel>> used, loaded;
    std::set<Channel> by_voltage;
    for (const Step& s : plan_->steps) {
      if (s.placement != p) continue;
      const std::size_t closed = s.source.size() + s.ret.size();
      if (s.kind == StepKind::isolation) {
        largest = std::max(largest, closed);
        for (const Channel c : s.source) used.insert({1, c});
        for (const Channel c : s.ret) used.insert({2, c});
      }
      if (s.kind != StepKind::control_short || closed <= largest) continue;
      const bool on_row_1 = s.source.size() == 1;
      const Channel own = on_row_1 ? s.source[0] : s.ret.at(0);
      loaded.insert({on_row_1 ? 1 : 2, own});
      if (s.volts.value > 0) by_voltage.insert(own);
    }
    for (const auto& [row, channel] : used) {
      const auto& probe = plan_->placements[p].probe(channel);
      const auto& group = board_->expectation.point(probe.point).group;
      const auto fellows = std::ranges::count_if(plan_->placements[p].probes, [&](const Probe& q) {
        return board_->expectation.point(q.point).group == group;
      });
      if (!probe.twin && fellows < 2) continue;
      EXPECT_TRUE(loaded.contains({row, channel})) << p << " row " << row << " " << channel;
      EXPECT_TRUE(by_voltage.contains(channel)) << p << ": its tip at the test voltage";
    }
  }
}

// n words that differ from each other take ceil(log2 n) bits; fewer cannot part all.
TEST_F(OnTideGauge, TakesAsManyIsolationStepsAPlacementAsTheWordsOfItsGroupsHaveBits) {
  for (std::size_t p = 0; p < plan_->placements.size(); ++p) {
    std::set<GroupId> present;
    for (const auto& [channel, group] : groups_of(p)) present.insert(group);
    const auto n = [&](bool closing) {
      return std::ranges::count_if(plan_->steps, [&](const Step& s) {
        return s.placement == p && s.kind == StepKind::isolation && s.closing == closing;
      });
    };
    EXPECT_EQ(n(false), std::bit_width(present.size() - 1)) << plan_->placements[p].name;
    EXPECT_EQ(n(true), n(false)) << "each is read again at the end of the block";
  }
  EXPECT_GE(plan_->isolation.steps, plan_->isolation.bound);
}

TEST_F(OnTideGauge, ContinuityTiesEveryGroupAndCountsAgainstTheBound) {
  EXPECT_GE(plan_->continuity.steps, plan_->continuity.bound);
  for (std::size_t p = 0; p < plan_->placements.size(); ++p) {
    const auto groups = groups_of(p);
    std::map<Channel, Channel> tied_to;  // the first channel of what it conducts to
    for (const auto& [channel, group] : groups) tied_to[channel] = channel;
    for (const Step& s : plan_->steps) {
      if (s.placement != p || s.kind != StepKind::continuity) continue;
      const Channel a = tied_to.at(s.source.at(0)), b = tied_to.at(s.ret.at(0));
      for (auto& [channel, first] : tied_to) {
        if (first == b) first = a;
      }
    }
    for (const auto& [c, one] : groups) {
      for (const auto& [d, other] : groups)
        EXPECT_EQ(one == other, tied_to[c] == tied_to[d]) << p << ": " << c << " and " << d;
    }
  }
}

TEST_F(OnTideGauge, EveryIsolationBlockHasControlsOfBothKindsBeforeAndAfter) {
  std::map<std::size_t, std::string> order;  // by block: i isolation, o open, c conducting
  for (const Step& s : plan_->steps) {
    if (s.kind == StepKind::isolation) order[s.block] += 'i';
    if (s.kind == StepKind::control_open) order[s.block] += 'o';
    if (s.kind == StepKind::control_short || s.kind == StepKind::reference) order[s.block] += 'c';
  }
  for (const auto& [block, steps] : order) {
    const auto first = steps.find('i'), last = steps.rfind('i');
    if (first == std::string::npos) continue;
    for (char control : {'o', 'c'}) {
      EXPECT_LT(steps.find(control), first) << block << " " << steps;
      EXPECT_GT(steps.rfind(control), last) << block << " " << steps;
    }
  }
}

// Two rows of three pads joined along the rows repeat themselves when turned and when flipped;
// three nets of different length do not.
TEST(Layings, ThatReadAlikeAreNamed) {
  const test::SmallBoard small;
  const expect::Board& board = small.board();
  const auto probe = [&](Channel c, const char* id) {
    const auto point = expect::find_point(board.expectation, id, Side::top);
    EXPECT_TRUE(point) << id;
    return Probe{c, *point, board.expectation.point(*point).at, {}};
  };
  const Placement alike{
      "P", Side::top, {probe(1, "U1.1"), probe(2, "U3.1"), probe(3, "U1.2"), probe(4, "U3.2")}, {}};
  const auto words = indistinguishable_layings(board, alike);
  EXPECT_TRUE(std::ranges::find(words, "turned by 180 degrees") != words.end());
  EXPECT_TRUE(std::ranges::find(words, "flipped top to bottom") != words.end());
  // Turned, the tips of ALPHA would lie on bare laminate.
  const Placement told{
      "Q", Side::top, {probe(1, "U1.1"), probe(2, "U3.1"), probe(3, "U1.3"), probe(4, "J1.1")}, {}};
  EXPECT_TRUE(indistinguishable_layings(board, told).empty());
}

formats::FixtureFile good_fixture(const expect::Board& board) {
  Diagnostics notes;
  auto fixture = make_fixture(board, {16, true}, notes);
  EXPECT_TRUE(fixture);
  return *fixture;
}

std::string refusal(const expect::Board& board, const formats::FixtureFile& fixture) {
  const auto checked = check_fixture(board, fixture);
  return checked ? "" : checked.problem().code;
}

TEST(CheckFixture, RefusesWhatDoesNotFitTheBoard) {
  const test::SmallBoard small;
  const expect::Board& board = small.board();
  auto f = good_fixture(board);
  EXPECT_EQ(refusal(board, f), "");
  f.placements[0].probes.at(1).point = "U99.1";
  EXPECT_EQ(refusal(board, f), "PLN-001");
  f = good_fixture(board);
  f.placements[0].side = Side::bottom;
  EXPECT_EQ(refusal(board, f), "PLN-002");
  f = good_fixture(board);
  f.placements[0].probes.at(1).at = position_mm(40, 40);
  EXPECT_EQ(refusal(board, f), "PLN-003");
  f.placements[0].probes.at(1).point.clear();
  EXPECT_EQ(refusal(board, f), "PLN-004");
  f = good_fixture(board);
  f.made_for_hash = "of another revision";
  EXPECT_EQ(refusal(board, f), "PLN-005");
  f = good_fixture(board);
  f.channels = 2;
  EXPECT_EQ(refusal(board, f), "PLN-007");
}

TEST(CheckFixture, APlaceOnAPadIsThatPadAndASecondTipIsWarnedOf) {
  const test::SmallBoard small;
  auto f = good_fixture(small.board());
  auto& probes = f.placements[0].probes;
  const auto at = *probes.at(1).at;
  probes.at(2).point.clear();
  probes.at(2).at = at + Position{100'000, 0};
  Diagnostics notes;
  const auto plan = make_plan(small.board(), f, {}, notes);
  ASSERT_TRUE(plan);
  EXPECT_EQ(plan->placements[0].probes[0].point, plan->placements[0].probes[1].point);
  ASSERT_EQ(notes.list().size(), 1u);
  EXPECT_EQ(notes.list()[0].what.code, "PLN-006");
}

}  // namespace
}  // namespace isthmus::plan
