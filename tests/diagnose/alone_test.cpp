// SPDX-License-Identifier: Apache-2.0
// A tip that is alone on its copper: no control shows that it still touches at the test voltage, so
// that metal to its neighbours is heard by current.
#include <gtest/gtest.h>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/expect/piece_board.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::diagnose {
namespace {

using plan::StepKind;

// Three pads of no fellow, side by side, and two nets of two pads each.
std::unique_ptr<expect::Board> lone_pads() {
  test::LittleBoard little;
  little.surface("L1", "P1", "1", 0, 0).surface("L2", "P1", "2", 1.5, 0);
  little.surface("L3", "P1", "3", 3, 0);
  little.surface("A", "R1", "1", 4.5, 0)
      .surface("A", "R1", "2", 10, 0)
      .track(0, 4.5, 0, 10, 0, 0.4);
  little.surface("B", "R2", "1", 6, 2).surface("B", "R2", "2", 10, 2).track(0, 6, 2, 10, 2, 0.4);
  little.stage(Stage::etched);
  return test::whole(std::move(little));
}

class ATipAlone : public ::testing::Test {
 protected:
  ATipAlone() : bench_(*board_, planned()) {}
  plan::Plan planned() {
    Diagnostics notes;
    auto fixture = plan::make_fixture(*board_, {16, true}, notes);
    EXPECT_TRUE(fixture);
    auto plan = test::foretold_plan(*board_, *fixture, {4, {10.0}}, notes);
    EXPECT_TRUE(plan);
    return *plan;
  }
  [[nodiscard]] formats::Channel on(const std::string& id) const {
    for (const plan::Probe& p : bench_.plan().placements.at(0).probes) {
      if (board_->expectation.point(p.point).id == id) return p.channel;
    }
    ADD_FAILURE() << id;
    return 0;
  }
  // Lifted by the test voltage, and by nothing else.
  static void loses(test::FakeBench& bench, formats::Channel c) {
    bench.meddle = [c](const plan::Step& s, plan::Outcome& o) {
      const auto has = [&](const std::vector<formats::Channel>& list) {
        return std::ranges::find(list, c) != list.end();
      };
      if (s.kind == StepKind::isolation && (has(s.source) || has(s.ret))) o = plan::OverRange{};
    };
  }
  std::unique_ptr<expect::Board> board_ = lone_pads();
  test::FakeBench bench_;
};

TEST_F(ATipAlone, PassesOnAGoodBoard) {
  EXPECT_EQ(bench_.run().verdict, Verdict::pass);
  std::size_t by_current = 0;
  for (const plan::Step& s : bench_.plan().steps)
    by_current += s.kind == StepKind::isolation_by_current && !s.wanted;
  EXPECT_EQ(by_current, 3U);  // five pieces of copper have words of three bits
}

TEST_F(ATipAlone, HearsMetalAlthoughTheTestVoltageLiftsIt) {
  for (const char* other : {"P1.2", "R1.1"}) {
    test::FakeBench bench(*board_, planned());
    bench.tie("P1.3", other, 0.2);
    loses(bench, on("P1.3"));
    const Diagnosis d = bench.run();
    EXPECT_EQ(d.verdict, Verdict::incomplete) << other;
    EXPECT_TRUE(d.findings.empty()) << other;
  }
}

TEST_F(ATipAlone, IsFoundBridgedAsEver) {
  bench_.tie("P1.1", "P1.2", 0.2);
  const Diagnosis d = bench_.run();
  EXPECT_EQ(d.verdict, Verdict::fail);
  EXPECT_EQ(d.findings.size(), 1U);
}

// The pools by current that a bridge elsewhere spoils are asked anew, without it across.
TEST_F(ATipAlone, IsToldBesideABridge) {
  bench_.tie("R1.1", "R2.1", 0.2);
  const Diagnosis d = bench_.run();
  EXPECT_EQ(d.verdict, Verdict::fail);
  EXPECT_EQ(d.findings.size(), 1U);
  for (const CannotTell& c : d.cannot_tell) EXPECT_EQ(c.why, WhyCannotTell::reopened);
}

TEST_F(ATipAlone, IsAskedAgainWhereAReadingWasLost) {
  int lost = 0;
  bench_.meddle = [&](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::isolation_by_current && ++lost <= 3) o = plan::NoReading{"hum"};
  };
  EXPECT_EQ(bench_.run().verdict, Verdict::pass);
  EXPECT_GT(lost, 3);
}

TEST_F(ATipAlone, IsNotToldWhereNoneCanBeRead) {
  bench_.meddle = [](const plan::Step& s, plan::Outcome& o) {
    if (s.kind == StepKind::isolation_by_current) o = plan::NoReading{"hum"};
  };
  EXPECT_EQ(bench_.run().verdict, Verdict::incomplete);
}

}  // namespace
}  // namespace isthmus::diagnose
