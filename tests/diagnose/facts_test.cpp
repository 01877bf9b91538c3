// SPDX-License-Identifier: Apache-2.0
// What readings make of the entries of the list, in whole runs on the small board. The bench knows
// who conducts to whom (tests/support/fake_bench), so the state of each entry is known.
#include "diagnose/facts.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "plan/ideal.hpp"
#include "tests/expect/piece_board.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using expect::FaultKind;
using expect::FaultState;
using Strings = std::vector<std::string>;

class FaultStates : public ::testing::Test {
 protected:
  static const expect::Board& board() {
    static const test::SmallBoard small;
    return small.board();
  }
  static formats::FixtureFile fixture() {
    Diagnostics notes;
    auto made = plan::make_fixture(board(), {64, true}, notes);
    EXPECT_TRUE(made) << format(made.problem());
    return *made;
  }
  static test::FakeBench bench(const formats::FixtureFile& f = fixture()) {
    Diagnostics notes;
    auto plan = test::foretold_plan(board(), f, {4, {10.0}}, notes);
    EXPECT_TRUE(plan) << format(plan.problem());
    return {board(), *plan};
  }
  // States of the stretches that run over this place on top.
  static std::vector<FaultState> stretch_at(const Diagnosis& d, double x, double y) {
    return states(d, [&](const expect::PossibleFault& f) {
      return f.kind == FaultKind::stretch && f.side == Side::top &&
             test::mm_to_path(f.path, position_mm(x, y)) < 0.1;
    });
  }
  static std::vector<FaultState> bridges(const Diagnosis& d, const std::string& a,
                                         const std::string& b) {
    const auto net = [](std::uint32_t piece) {
      return board().expectation.group(board().faults.groups_of_piece[piece].at(0)).net;
    };
    return states(d, [&](const expect::PossibleFault& f) {
      return f.kind == FaultKind::bridge &&
             std::pair(std::minmax(net(f.piece), net(f.other))) == std::pair(std::minmax(a, b));
    });
  }
  template <class Condition>
  static std::vector<FaultState> states(const Diagnosis& d, Condition condition) {
    std::vector<FaultState> out;
    for (std::size_t e = 0; e < d.states.size(); ++e) {
      if (condition(board().faults.entries[e])) out.push_back(d.states[e]);
    }
    return out;
  }
  static const CannotTell& only(const Diagnosis& d) {
    EXPECT_EQ(d.cannot_tell.size(), 1u);
    static const CannotTell none{};
    return d.cannot_tell.size() == 1 ? d.cannot_tell[0] : none;
  }
  static constexpr auto kAll = [](const auto&) { return true; };
};
using All = std::vector<FaultState>;

// Two stretches each of ALPHA, BETA and DELTA on top, one of DELTA below, two joins, one of ECHO;
// FOXTROT has four legs and a trunk of two forks between the outer ones.
TEST_F(FaultStates, AGoodBoardExcludesTheWholeList) {
  const Diagnosis d = bench().run();
  EXPECT_EQ(states(d, kAll), All(board().faults.entries.size(), FaultState::excluded));
  EXPECT_EQ(d.breaks, (FaultCounts{d.breaks.listed, d.breaks.listed, 0, 0, 0, 0}));
  EXPECT_EQ(d.bridges, (FaultCounts{d.bridges.listed, d.bridges.listed, 0, 0, 0, 0}));
  EXPECT_EQ(d.breaks.listed, 2u + 2 + 3 + 2 + 1 + 5);
  EXPECT_EQ(d.bridges.listed, 3u);  // ALPHA and BETA, BETA and the lone pad, DELTA and ECHO
  EXPECT_EQ(d.likelihood_excluded, 1);
  EXPECT_TRUE(d.cannot_tell.empty());
}

TEST_F(FaultStates, ABreakIsFoundBetweenItsFragmentsAndNowhereElse) {
  auto b = bench();
  b.cut("U2.1", "U3.1");
  const Diagnosis d = b.run();
  EXPECT_EQ(stretch_at(d, 17, 2), All{FaultState::found});
  EXPECT_EQ(stretch_at(d, 7, 2), All{FaultState::excluded});
  EXPECT_EQ(d.breaks.found, 1u);
  EXPECT_EQ(d.bridges.found, 0u);
  EXPECT_EQ(d.bridges.cannot_tell, 0u);
  EXPECT_LT(d.likelihood_excluded, 1);
}

// What conducts over the bridge may hide breaks of both nets: measured again once it is mended.
TEST_F(FaultStates, ABridgeIsFoundAndReopensTheBreaksOfBothNets) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 0.2);
  const Diagnosis d = b.run();
  const All alpha_beta = bridges(d, "ALPHA", "BETA");
  ASSERT_FALSE(alpha_beta.empty());
  EXPECT_EQ(alpha_beta, All(alpha_beta.size(), FaultState::found));
  for (const double y : {2, 3}) {
    EXPECT_EQ(stretch_at(d, 7, y), All{FaultState::cannot_tell}) << y;
    EXPECT_EQ(stretch_at(d, 17, y), All{FaultState::cannot_tell}) << y;
  }
  EXPECT_EQ(stretch_at(d, 7, 7), All{FaultState::excluded});
}

TEST_F(FaultStates, ALiftedTipLeavesItsStretchAndSaysWhichTouchWouldTell) {
  auto b = bench();
  b.lift("U3.1");
  const Diagnosis d = b.run();
  EXPECT_EQ(stretch_at(d, 17, 2), All{FaultState::cannot_tell});
  EXPECT_EQ(stretch_at(d, 7, 2), All{FaultState::excluded});
  const auto at = std::ranges::find(d.cannot_tell, FaultKind::stretch, &CannotTell::kind);
  ASSERT_NE(at, d.cannot_tell.end());
  EXPECT_EQ(at->nets, Strings{"ALPHA"});
  EXPECT_EQ(at->side, "top");
  const auto lifted = std::ranges::find(at->would_tell, "U3.1");
  ASSERT_NE(lifted, at->would_tell.end());
  EXPECT_EQ(at->why, WhyCannotTell::contact_unproven);
  for (auto id = at->would_tell.begin(); id != at->would_tell.end(); ++id)
    EXPECT_EQ(at->from.at(static_cast<std::size_t>(id - at->would_tell.begin())).no_contact,
              id == lifted);
}

TEST_F(FaultStates, AProbeLeftOutIsNotReached) {
  auto f = fixture();
  std::erase_if(f.placements.at(0).probes, [](const auto& p) { return p.second.point == "U3.1"; });
  const Diagnosis d = bench(f).run();
  EXPECT_EQ(stretch_at(d, 17, 2), All{FaultState::cannot_tell});
  const auto at = std::ranges::find(d.cannot_tell, FaultKind::stretch, &CannotTell::kind);
  ASSERT_NE(at, d.cannot_tell.end());
  EXPECT_EQ(at->why, WhyCannotTell::not_reached);
  EXPECT_EQ(d.verdict, Verdict::incomplete);
}

// U1.3 has no neighbour to conduct to: all that faces it is open.
TEST_F(FaultStates, ALonePadThatNothingTouchesLeavesItsBridges) {
  auto b = bench();
  b.lift("U1.3");
  const Diagnosis d = b.run();
  EXPECT_EQ(d.breaks.cannot_tell, 0u);
  EXPECT_GT(d.bridges.cannot_tell, 0u);
  for (const CannotTell& c : d.cannot_tell) {
    EXPECT_EQ(c.kind, FaultKind::bridge);
    EXPECT_NE(std::ranges::find(c.points, "U1.3"), c.points.end());
  }
}

TEST_F(FaultStates, ARunThatBrokeOffCannotTellOfAnything) {
  const Diagnosis d = diagnose(board(), bench().plan(), {}, false);
  EXPECT_EQ(states(d, kAll), All(board().faults.entries.size(), FaultState::cannot_tell));
  EXPECT_EQ(d.likelihood_excluded, 0);
  for (const CannotTell& c : d.cannot_tell) EXPECT_EQ(c.why, WhyCannotTell::broken_off);
}

TEST_F(FaultStates, AWaivedEntryBlocksNothingAndIsCounted) {
  auto waived = board();
  for (expect::PossibleFault& f : waived.faults.entries) f.waived = f.kind == FaultKind::bridge;
  const Diagnosis d = diagnose(waived, bench().plan(), {}, true);
  EXPECT_EQ(d.bridges.waived, d.bridges.listed);
  for (const CannotTell& c : d.cannot_tell) EXPECT_NE(c.kind, FaultKind::bridge);
}

// U1.1 conducts to U3.1, so that U2.1, on the track between, is one piece with them; and it reads
// open to U1.1, however often it is asked.
TEST_F(FaultStates, NothingOfANetIsExcludedWhoseReadingsContradictEachOther) {
  auto b = bench();
  b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    const auto on = [&](const char* id) {
      return std::ranges::any_of(s.points,
                                 [&](PointId p) { return board().expectation.point(p).id == id; });
    };
    if (s.kind == plan::StepKind::continuity && on("U2.1") && (on("U1.1") || on("U3.1")))
      o = plan::OverRange{};
  };
  const Diagnosis d = b.run();
  EXPECT_NE(d.verdict, Verdict::pass);
  for (const double x : {7, 17}) EXPECT_NE(stretch_at(d, x, 2), All{FaultState::excluded}) << x;
  for (const FaultState state : bridges(d, "ALPHA", "BETA")) EXPECT_NE(state, FaultState::excluded);
  EXPECT_EQ(stretch_at(d, 7, 7), All{FaultState::excluded});
}

// One net out along y = 0 and back along y = 1.5 mm: solder between the legs, and a break where they
// meet, read as a good board. It passes, and says so.
TEST(HairpinBoard, PassesAndCountsTheBreakThatItsOwnNetCouldHide) {
  test::LittleBoard little;
  little.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", -3, 1.5);
  little.track(0, 0, 0, 10, 0, 0.3).track(0, 10, 0, 10, 1.5, 0.3).track(0, -3, 1.5, 10, 1.5, 0.3);
  const auto board = test::whole(std::move(little));
  Diagnostics notes;
  const auto fixture = plan::make_fixture(*board, {8, true}, notes);
  ASSERT_TRUE(fixture);
  const auto plan = test::foretold_plan(*board, *fixture, {4, {10.0}}, notes);
  ASSERT_TRUE(plan);
  const Diagnosis d = test::FakeBench(*board, *plan).run();
  EXPECT_EQ(d.verdict, Verdict::pass);
  EXPECT_EQ(d.breaks, (FaultCounts{1, 1, 0, 0, 0, 0, 1}));
}

// R1 on top, through J1, below to J2, which nothing touches. Both ends of J1 tell of its join; J2's ring
// on top leads nowhere: what would tell of the track below is a touch from there.
TEST(TwoSidedBoard, NamesTheSideFromWhichATouchWouldTell) {
  test::LittleBoard little;
  little.surface("A", "R1", "1", 0, 0).track(0, 0, 0, 10, 0, 0.3).through("A", "J1", "1", 10, 0);
  little.track(1, 10, 0, 20, 0, 0.3).through("A", "J2", "1", 20, 0).stage(Stage::joined);
  const auto board = test::whole(std::move(little));
  formats::FixtureFile fixture;
  fixture.channels = 8;
  fixture.contact_check = true;
  fixture.placements.push_back({});
  fixture.placements[0].name = "A";
  fixture.placements[0].probes[1].point = "R1.1";
  fixture.placements[0].probes[2].point = "J1.1";
  Diagnostics notes;
  const auto plan = test::foretold_plan(*board, fixture, {4, {10.0}}, notes);
  ASSERT_TRUE(plan) << format(plan.problem());
  const Diagnosis d = test::FakeBench(*board, *plan).run();
  std::set<std::string> told;  // "stretch: J2.1 bottom of both"
  for (const CannotTell& c : d.cannot_tell) {
    ASSERT_EQ(c.from.size(), c.would_tell.size());
    for (std::size_t i = 0; i < c.from.size(); ++i) {
      told.insert(std::string(name(c.kind)) + ": " + c.would_tell[i] + " " +
                  std::string(name(c.from[i].side)) + (c.from[i].either ? " of both" : ""));
    }
  }
  EXPECT_EQ(told,
            (std::set<std::string>{"join: J1.1 top of both", "join: J1.1 bottom of both",
                                   "stretch: J1.1 top of both", "stretch: J2.1 bottom of both"}));
}

// R1 to R2, and on to a pad that no record names: nobody needs to touch it but for the track to it.
class UnlistedPad : public ::testing::Test {
 protected:
  UnlistedPad() {
    test::LittleBoard little;
    little.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 5, 0).pad(0, 10, 0, 1, 1);
    little.track(0, 0, 0, 10, 0, 0.3);
    board_ = test::whole(std::move(little));
    fixture_.channels = 8;
    fixture_.contact_check = true;
    fixture_.placements.push_back({});
    fixture_.placements[0].name = "A";
    for (const auto& [channel, point] : {std::pair{1, "R1.1"}, {2, "R2.1"}, {3, kPad}})
      fixture_.placements[0].probes[channel].point = point;
  }
  // What cannot be told, if the tip on that pad touches nothing.
  [[nodiscard]] std::vector<CannotTell> lifted() const {
    Diagnostics notes;
    const auto plan = test::foretold_plan(*board_, fixture_, {4, {10.0}}, notes);
    EXPECT_TRUE(plan);
    test::FakeBench bench(*board_, *plan);
    bench.lift(kPad);
    return bench.run().cannot_tell;
  }
  static constexpr const char* kPad = "@10.000,0.000";
  std::unique_ptr<expect::Board> board_;
  formats::FixtureFile fixture_;
};

TEST_F(UnlistedPad, WhoseTipTouchesNothingIsNoContactAndWasReached) {
  const auto all = lifted();
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].why, WhyCannotTell::contact_unproven);
  ASSERT_EQ(all[0].would_tell.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i)
    EXPECT_EQ(all[0].from.at(i).no_contact, all[0].would_tell[i] == kPad) << i;
}

// Without a contact check a tip in the air reads as an open would: neither is known.
TEST_F(UnlistedPad, WhoseTouchNothingCouldProveIsUnproven) {
  fixture_.contact_check = false;
  const auto all = lifted();
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].why, WhyCannotTell::contact_unproven);
  for (const auto& from : all[0].from) EXPECT_FALSE(from.no_contact);
}

TEST_F(UnlistedPad, ThatNoProbeStandsOnIsNotReached) {
  fixture_.placements[0].probes.erase(3);
  const auto all = lifted();
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].why, WhyCannotTell::not_reached);
  for (const auto& from : all[0].from) EXPECT_FALSE(from.no_contact);
}

// As on an inner layer: the pad must stay on, and no tip can come down on it.
TEST_F(UnlistedPad, ThatNothingCanTouchIsNoAdviceToTouchTheRest) {
  fixture_.placements[0].probes.erase(3);
  board_->faults.wiring.nodes[board_->faults.top_node.back()].place = false;
  const auto all = lifted();
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].why, WhyCannotTell::no_touch);
  EXPECT_EQ(all[0].would_tell, Strings{});
  EXPECT_EQ(all[0].points, Strings{});
  EXPECT_EQ(all[0].nets, Strings{"A"});
}

std::set<std::pair<std::uint32_t, std::uint32_t>> pairs(
    const std::vector<expect::Facts::Two>& all) {
  std::set<std::pair<std::uint32_t, std::uint32_t>> out;
  for (const auto& t : all) {
    if (t.a != t.b) out.insert(std::minmax(t.a, t.b));
  }
  return out;
}

TEST_F(FaultStates, FactsOfAGoodRunAreThoseThatThePlacementsPromise) {
  auto b = bench();
  b.run();
  const Study study(board(), b.plan(), b.readings());
  const expect::Facts read = facts_of(study),
                      ideal = plan::ideal_facts(board(), b.plan().placements, true);
  EXPECT_EQ(std::set(read.touched.begin(), read.touched.end()),
            std::set(ideal.touched.begin(), ideal.touched.end()));
  EXPECT_EQ(pairs(read.one_piece), pairs(ideal.one_piece));
  EXPECT_EQ(pairs(read.two_pieces), pairs(ideal.two_pieces));
}

}  // namespace
}  // namespace isthmus::diagnose
