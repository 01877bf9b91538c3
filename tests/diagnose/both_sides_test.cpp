// SPDX-License-Identifier: Apache-2.0
// A net touched from both sides in one placement. The bench knows nothing of sides: what lies below
// is parted from what lies above by overruling its answers.
#include <gtest/gtest.h>

#include <algorithm>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using formats::Channel;
using Strings = std::vector<std::string>;

// GOLF of the small board: U1.6 on top, a plated hole at [12, 12], U4.2 on the bottom.
class OnGolf : public ::testing::Test {
 protected:
  static formats::FixtureFile fixture() {
    formats::FixtureFile f;
    f.channels = 8;
    f.contact_check = true;
    f.placements = {{"A", Side::both, {}, {}}};
    const auto probe = [&](Channel c, const char* point, Side side) {
      f.placements[0].probes[c].point = point;
      f.placements[0].probes[c].side = side;
    };
    probe(1, "U1.6", Side::top);
    probe(2, "VIA@12.000,12.000", Side::top);
    probe(3, "VIA@12.000,12.000", Side::bottom);
    probe(4, "U4.2", Side::bottom);
    return f;
  }
  test::FakeBench bench() {
    Diagnostics notes;
    auto plan = test::foretold_plan(small_.board(), fixture(), {4, {10.0}}, notes);
    EXPECT_TRUE(plan) << format(plan.problem());
    return {small_.board(), *plan};
  }
  // As if no metal stood in the hole.
  static void part_sides(const plan::Step& step, plan::Outcome& outcome) {
    const auto below = [](const std::vector<Channel>& list) {
      return std::ranges::any_of(list, [](Channel c) { return c > 2; });
    };
    if (step.source.size() == 1 && step.ret.size() == 1 && below(step.source) != below(step.ret))
      outcome = plan::OverRange{};
  }
  static bool of_golf(const Untested& u) { return u.net == "GOLF"; }
  test::SmallBoard small_{"joined", true};
};

TEST_F(OnGolf, TheSidesOfAGoodNetAreOnePiece) {
  const Diagnosis d = bench().run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_TRUE(std::ranges::none_of(d.untested, [](const Untested& u) {
    return of_golf(u) && (u.why == "not-tied" || u.why == "not-reached");
  }));
}

TEST_F(OnGolf, AHoleWithoutMetalIsAnOpenBetweenItsTwoEnds) {
  auto b = bench();
  b.meddle = part_sides;
  const Diagnosis d = b.run();
  ASSERT_EQ(d.findings.size(), 1u);
  const Finding& f = d.findings[0];
  EXPECT_EQ(f.kind, FindingKind::open);
  ASSERT_EQ(f.parts.size(), 2u);
  const auto has = [](const Strings& part, const char* id) {
    return std::ranges::find(part, id) != part.end();
  };
  EXPECT_NE(has(f.parts[0], "U1.6"), has(f.parts[1], "U1.6"));
  EXPECT_EQ(has(f.parts[0], "U1.6"), has(f.parts[1], "U4.2"));
  EXPECT_TRUE(std::ranges::any_of(f.suspects, [](const Suspect& s) {
    return s.at == position_mm(12, 12) && s.side == "both";
  }));
}

}  // namespace
}  // namespace isthmus::diagnose
