// SPDX-License-Identifier: Apache-2.0
// Readings taken one at a time. Oracle: the same readings taken all at once.
#include "isthmus/diagnose/knowledge.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "diagnose/wanted.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

using plan::StepKind;

class TakingReadings : public ::testing::Test {
 protected:
  static plan::Plan make(const expect::Board& board, bool contact_check) {
    Diagnostics notes;
    auto fixture = plan::make_fixture(board, {8, contact_check}, notes);
    EXPECT_TRUE(fixture);
    auto plan = test::foretold_plan(board, *fixture, {4, {10.0}}, notes);
    EXPECT_TRUE(plan);
    return *plan;
  }
  // A run with an open, a bridge and a control that was wrong once, over several placements.
  test::FakeBench faulty(bool contact_check) {
    test::FakeBench bench(board_, make(board_, contact_check));
    controls_ = 0;
    bench.cut("U2.1", "U3.1");
    bench.meddle = [this](const plan::Step& s, plan::Outcome& o) {
      const bool third = s.kind == StepKind::control_open && s.volts.value > 0 && ++controls_ == 3;
      if (third) o = plan::Measured{1e3, 1};
    };
    return bench;
  }
  void expect_same(const Evidence& a, const Evidence& b, const plan::Plan& plan) {
    EXPECT_EQ(a.bad_blocks(), b.bad_blocks());
    for (std::size_t p = 0; p < plan.placements.size(); ++p) {
      EXPECT_EQ(a.reached(p), b.reached(p));
      EXPECT_EQ(a.isolation_distrusted(p), b.isolation_distrusted(p));
      ASSERT_EQ(a.heard(p).size(), b.heard(p).size());
      for (const auto& [pair, heard] : a.heard(p)) {
        const Heard other = b.between(p, pair.first, pair.second);
        EXPECT_EQ(heard.lows, other.lows);
        EXPECT_EQ(heard.highs, other.highs);
        EXPECT_EQ(heard.none, other.none);
      }
      ASSERT_EQ(a.isolations(p).size(), b.isolations(p).size());
      for (std::size_t i = 0; i < a.isolations(p).size(); ++i) {
        EXPECT_EQ(a.isolations(p)[i].sequence, b.isolations(p)[i].sequence);
        EXPECT_EQ(a.isolations(p)[i].leakage, b.isolations(p)[i].leakage);
      }
      for (const plan::Probe& probe : plan.placements[p].probes) {
        EXPECT_EQ(a.touch(p, probe.channel), b.touch(p, probe.channel));
        EXPECT_EQ(a.contact_tries(p, probe.channel), b.contact_tries(p, probe.channel));
      }
    }
  }

  test::SmallBoard small_;
  const expect::Board& board_ = small_.board();
  std::size_t controls_{};
};

TEST_F(TakingReadings, SaysTheSameHoweverOftenItIsSettled) {
  for (const bool contact_check : {true, false}) {
    auto bench = faulty(contact_check);
    bench.run();
    for (const std::size_t every : {1u, 2u, 7u, 50u}) {
      Evidence evidence(bench.plan());
      std::size_t taken = 0;
      for (const plan::Reading& r : bench.readings()) {
        evidence.take(r);
        if (++taken % every == 0) evidence.settle();
      }
      evidence.settle();
      expect_same(evidence, Evidence(bench.plan(), bench.readings()), bench.plan());
    }
    EXPECT_FALSE(Evidence(bench.plan(), bench.readings()).bad_blocks().empty());
  }
}

TEST_F(TakingReadings, ABlockThatCountedDoesSoNoMoreOnceAControlReadsWrong) {
  auto bench = faulty(true);
  bench.meddle = nullptr;
  bench.run();
  std::vector<plan::Reading> readings = bench.readings();
  const auto control = std::ranges::find_if(readings, [&](const plan::Reading& r) {
    const plan::Step& s = bench.plan().step(r.step);
    return s.kind == StepKind::control_open && s.volts.value > 0;
  });
  ASSERT_NE(control, readings.end());
  const std::size_t block = bench.plan().step(control->step).block;
  Evidence evidence(bench.plan(), readings);
  ASSERT_FALSE(evidence.bad_blocks().contains(block));
  plan::Reading wrong = *control;
  wrong.sequence = static_cast<std::uint32_t>(readings.size());
  wrong.outcome = plan::Measured{1e3, 1};
  evidence.take(wrong);
  evidence.settle();
  EXPECT_TRUE(evidence.bad_blocks().contains(block));
  readings.push_back(wrong);
  expect_same(evidence, Evidence(bench.plan(), readings), bench.plan());
}

TEST_F(TakingReadings, WantsWhatAllReadingsAtOnceWouldWant) {
  auto bench = faulty(true);
  const plan::Plan planned = bench.plan();
  Knowledge knowledge(board_, planned);
  std::size_t wanted = 0;
  for (std::size_t p = 0; p < planned.placements.size(); ++p) {
    auto steps = knowledge.next(p);
    while (!steps.empty()) {
      for (const plan::Step& s : steps) knowledge.take(bench.measure(s));
      const plan::Plan so_far = knowledge.plan();
      const Evidence evidence(so_far, knowledge.readings());
      const auto expected = wanted_steps({board_, so_far, evidence, Asked(so_far)}, p);
      steps = knowledge.next(p);
      ASSERT_EQ(steps.size(), expected.size());
      for (std::size_t i = 0; i < steps.size(); ++i) {
        EXPECT_EQ(steps[i].kind, expected[i].kind);
        EXPECT_EQ(steps[i].source, expected[i].source);
        EXPECT_EQ(steps[i].ret, expected[i].ret);
        EXPECT_EQ(index(steps[i].id), so_far.steps.size() + i + 1);
        EXPECT_TRUE(steps[i].wanted);
      }
      wanted += steps.size();
    }
  }
  EXPECT_GT(wanted, 0u);
  EXPECT_EQ(knowledge.plan().steps.size(), planned.steps.size() + wanted);
}

}  // namespace
}  // namespace isthmus::diagnose
