// SPDX-License-Identifier: Apache-2.0
// Wires of the harness that touch, as a trial in the air finds them. Oracle: the bench's list of who
// conducts to whom (tests/support/fake_bench).
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using Strings = std::vector<std::string>;

class Wires : public ::testing::TestWithParam<bool> {  // contact check
 protected:
  static const expect::Board& board() {
    static const test::SmallBoard small;
    return small.board();
  }
  static test::FakeBench bench() { return {board(), test::plan_for(board(), {64, GetParam()})}; }
  static Strings points_of_wiring(const Diagnosis& d) {
    Strings points;
    for (const Untested& u : d.untested) {
      if (u.why == "wiring") points.insert(points.end(), u.points.begin(), u.points.end());
    }
    std::ranges::sort(points);
    return points;
  }
};
INSTANTIATE_TEST_SUITE_P(Both, Wires, ::testing::Bool());

TEST_P(Wires, ThatTouchAreNamedAndNotTheBoard) {
  auto b = bench();
  b.touch_wires("U2.1", "U2.2");
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_EQ(points_of_wiring(d), (Strings{"U2.1", "U2.2"}));
  EXPECT_EQ(d.bridges.found, 0U);
  const ChannelPair pair = *b.harness.touching.begin();
  const formats::Channel low = pair.first, high = pair.second;
  EXPECT_NE(std::ranges::find_if(d.untested,
                                 [&](const Untested& u) {
                                   return u.detail.find("wires " + std::to_string(low) + " and " +
                                                        std::to_string(high)) == 0;
                                 }),
            d.untested.end());
}

// Without a trial: from tip to tip of the two nets the current passes the contacts of all tips but
// those whose wires touch (series circuit, by hand; contacts of 0.05 ohm).
TEST_P(Wires, ThatTouchAreToldByTheContactsThatNoCurrentPasses) {
  for (const auto& [one, other] :
       {std::pair<std::string, std::string>{"U1.1", "U1.2"}, {"U3.1", "U2.2"}}) {
    auto b = bench();
    b.tie(one, other, 0.1);
    std::map<formats::Channel, std::string> net;
    std::set<formats::Channel> touching;
    for (const plan::Probe& p : b.plan().placements.at(0).probes) {
      const expect::Point& point = board().expectation.point(p.point);
      net[p.channel] = point.net;
      if (p.twin) net[*p.twin] = point.net;
      if (point.id == one || point.id == other) touching.insert(p.channel);
    }
    b.meddle = [&](const plan::Step& s, plan::Outcome& o) {
      auto* m = std::get_if<plan::Measured>(&o);
      if (s.kind != plan::StepKind::resistance || !m) return;
      const formats::Channel x = s.source.at(0), y = s.ret.at(0);
      if (net[x] == net[y]) return;
      m->value += (touching.contains(x) ? 0 : 0.1) + (touching.contains(y) ? 0 : 0.1) - 0.1;
    };
    const Diagnosis d = b.run();
    EXPECT_TRUE(d.findings.empty()) << one;
    EXPECT_EQ(d.verdict, Verdict::incomplete) << one;
    EXPECT_EQ(points_of_wiring(d), (Strings{std::min(one, other), std::max(one, other)}));
  }
}

TEST_P(Wires, ThatAreApartInTheAirLeaveTheBridgeToTheBoard) {
  auto b = bench();
  b.tie("U2.1", "U2.2", 0.1);
  const Diagnosis d = b.run();
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].kind, FindingKind::bridge);
  EXPECT_EQ(points_of_wiring(d), Strings{});
}

TEST_P(Wires, OfOneNetHideItsOpenButNotInAPass) {
  auto b = bench();
  b.cut("U2.1", "U3.1");
  b.touch_wires("U1.1", "U3.1", 0.02);
  const Diagnosis d = b.run();
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_EQ(points_of_wiring(d), (Strings{"U1.1", "U3.1"}));
  EXPECT_GT(d.breaks.cannot_tell, 0U);
}

TEST_P(Wires, ThatLeadOnToABridgeDoNotHideIt) {
  auto b = bench();
  b.touch_wires("U2.1", "U2.2");
  const Strings echo = [&] {
    for (const expect::Group& g : board().expectation.groups) {
      if (g.net == "ECHO") return Strings{board().expectation.point(g.points[0]).id};
    }
    return Strings{};
  }();
  b.tie("U2.2", echo.at(0), 0.1);
  const Diagnosis d = b.run();
  ASSERT_EQ(d.findings.size(), 1U);
  EXPECT_EQ(d.findings[0].nets, (Strings{"BETA", "ECHO"}));
}

TEST_P(Wires, OfChannelsWithoutATipConcernNobody) {
  auto b = bench();
  b.harness.touching = {{63, 64}};
  EXPECT_EQ(b.run().verdict, Verdict::pass);
}

}  // namespace
}  // namespace isthmus::diagnose
