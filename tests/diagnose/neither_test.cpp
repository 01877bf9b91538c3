// SPDX-License-Identifier: Apache-2.0
// What need not conduct yet and may: pieces of one net before they are joined, nets that are tied.
#include <gtest/gtest.h>

#include "tests/expect/piece_board.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::diagnose {
namespace {

using Strings = std::vector<std::string>;

// Two rows of four pads on top, neighbours within the window: an isolation step with the first on
// its one side has the last on its other. In the first row these are of one net and meet only by
// way of the bottom, with nothing joined yet; in the second their nets are tied.
std::unique_ptr<expect::Board> not_joined_yet() {
  test::LittleBoard little;
  little.through("A", "J1", "1", 0, 0, std::nullopt).through("A", "J1", "2", 6, 0, std::nullopt);
  little.track(1, 0, 0, 6, 0, 0.4);
  little.surface("B", "R1", "1", 2, 0).surface("C", "R1", "2", 4, 0);
  little.surface("D", "R2", "1", 0, 9).surface("G", "R2", "4", 6, 9);
  little.surface("E", "R2", "2", 2, 9).surface("F", "R2", "3", 4, 9);
  little.design.board.net_ties = {{"D", "G"}};
  little.stage(Stage::etched);
  return test::whole(std::move(little));
}

plan::Plan planned(const expect::Board& board) {
  Diagnostics notes;
  auto fixture = plan::make_fixture(board, {16, true}, notes);
  EXPECT_TRUE(fixture);
  auto plan = test::foretold_plan(board, *fixture, {4, {10.0}}, notes);
  EXPECT_TRUE(plan);
  return *plan;
}

Diagnosis told(const expect::Board& board, const std::function<void(test::FakeBench&)>& fault) {
  test::FakeBench bench(board, planned(board));
  fault(bench);
  return bench.run();
}

bool says_early(const Diagnosis& d, const std::string& net) {
  return std::ranges::any_of(
      d.remarks, [&](const std::string& r) { return r.starts_with("pieces of " + net); });
}

TEST(NeitherExpectedNorForbidden, PiecesOfOneNetMayConduct) {
  const auto board = not_joined_yet();
  ASSERT_EQ(board->expectation.groups.size(), 9U);
  EXPECT_EQ(told(*board, [](test::FakeBench&) {}).verdict, Verdict::pass);
  for (const double ohms : {0.2, 300.0, 1e6}) {
    const Diagnosis d =
        told(*board, [&](test::FakeBench& b) { b.tie("J1.1@top", "J1.2@top", ohms); });
    EXPECT_EQ(d.verdict, Verdict::pass) << ohms;
    EXPECT_TRUE(d.findings.empty()) << ohms;
  }
}

TEST(NeitherExpectedNorForbidden, TiedNetsMayConduct) {
  const auto board = not_joined_yet();
  const Diagnosis d = told(*board, [](test::FakeBench& b) { b.tie("R2.1", "R2.4", 0.2); });
  EXPECT_EQ(d.verdict, Verdict::pass);
  EXPECT_FALSE(says_early(d, ""));
  EXPECT_TRUE(d.findings.empty());
}

// Where they leak in one polarity alone, that is no doubt either.
TEST(NeitherExpectedNorForbidden, TiedNetsMayBeInDoubt) {
  const auto board = not_joined_yet();
  bool met = false;
  const auto leak = [&](test::FakeBench& b) {
    b.tie("R2.1", "R2.4", 2e6);
    b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
      if (s.kind != plan::StepKind::isolation || s.source.size() + s.ret.size() != 2) return;
      met = true;
      if (s.source[0] > s.ret[0]) o = plan::OverRange{};
    };
  };
  EXPECT_EQ(told(*board, leak).verdict, Verdict::pass);
  EXPECT_TRUE(met);
}

// The bridge is told with its own resistance, not that of the pieces that may conduct.
TEST(NeitherExpectedNorForbidden, ABridgeToThemIsOneStill) {
  const auto board = not_joined_yet();
  const Diagnosis d = told(*board, [](test::FakeBench& b) {
    b.tie("J1.1@top", "J1.2@top", 0.2);
    b.tie("J1.2@top", "R1.2", 40);
  });
  EXPECT_EQ(d.verdict, Verdict::fail);
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].kind, FindingKind::bridge);
  EXPECT_EQ(d.findings[0].nets, (Strings{"A", "A", "C"}));
  EXPECT_NEAR(d.findings[0].measured->value, 40, 0.5);
}

// Three pads in a row, the first and the last of tied nets on one piece of copper, which leads
// round the one between.
std::unique_ptr<expect::Board> tied_copper(const std::vector<std::vector<std::string>>& ties,
                                           bool third = false) {
  test::LittleBoard little;
  little.surface("D", "R1", "1", 0, 0).surface("B", "R1", "2", 2, 0);
  little.surface("C", "R1", "3", 4, 0).surface("G", "R1", "4", 6, 0);
  little.track(0, 0, 0, 0, 3, 0.4).track(0, 0, 3, 6, 3, 0.4).track(0, 6, 3, 6, 0, 0.4);
  if (third) little.track(0, 4, 3, 4, 0, 0.4);  // C lies on it, too
  little.design.board.net_ties = ties;
  little.stage(Stage::etched);
  return test::whole(std::move(little));
}

// No isolation step parts them: it would conduct, and say nothing of the rest.
TEST(NeitherExpectedNorForbidden, TiedCopperStaysOnOneSideOfEveryStep) {
  const auto board = tied_copper({{"D", "G"}});
  const PointId d = test::point(*board, "R1.1"), g = test::point(*board, "R1.4");
  const plan::Plan plan = planned(*board);
  std::size_t steps = 0;
  for (const plan::Step& step : plan.steps) {
    if (step.kind != plan::StepKind::isolation) continue;
    ++steps;
    std::map<PointId, bool> in_source;
    for (const plan::Probe& p : plan.placements[step.placement].probes) {
      if (std::ranges::find(step.source, p.channel) != step.source.end()) in_source[p.point] = true;
      if (std::ranges::find(step.ret, p.channel) != step.ret.end()) in_source[p.point] = false;
    }
    ASSERT_TRUE(in_source.contains(d) && in_source.contains(g));
    EXPECT_EQ(in_source[d], in_source[g]);
  }
  EXPECT_GT(steps, 0U);
  const auto as_drawn = [](test::FakeBench& b) { b.tie("R1.1", "R1.4", 0.01); };
  EXPECT_EQ(told(*board, as_drawn).verdict, Verdict::pass);
}

// D to G to B are tied each to the next, D and B are not: D and B have to be isolated.
TEST(NeitherExpectedNorForbidden, ATieDoesNotReachFartherThanItSays) {
  const auto board = tied_copper({{"D", "G"}, {"G", "B"}});
  const Diagnosis d = told(*board, [](test::FakeBench& b) {
    b.tie("R1.1", "R1.4", 0.01);
    b.tie("R1.1", "R1.2", 1);
  });
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].nets, (Strings{"B", "D", "G"}));
}

TEST(NeitherExpectedNorForbidden, OneCopperOfWhichTwoAreNotTiedIsABridge) {
  const auto board = tied_copper({{"D", "G"}, {"G", "C"}}, true);
  const Diagnosis d = told(*board, [](test::FakeBench& b) {
    b.tie("R1.1", "R1.4", 0.01);
    b.tie("R1.4", "R1.3", 0.01);
  });
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].nets, (Strings{"C", "D", "G"}));
}

TEST(NeitherExpectedNorForbidden, UntiedCopperIsABridge) {
  const auto board = tied_copper({});
  const Diagnosis d = told(*board, [](test::FakeBench& b) { b.tie("R1.1", "R1.4", 0.01); });
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].nets, (Strings{"D", "G"}));
}

}  // namespace
}  // namespace isthmus::diagnose
