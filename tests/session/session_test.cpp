// SPDX-License-Identifier: Apache-2.0
// A board of two nets behind an adapter in memory. Oracle: the board is what the fake bench says,
// so what the run must find is known; the requests are compared with docs/adapter.md.
#include "isthmus/session/session.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "tests/adapter/fake_adapter.hpp"
#include "tests/session/two_nets.hpp"

namespace isthmus::session {
namespace {

using plan::Step;
using test::FakeAdapter;
using test::FakeBench;
using test::net_of;
using test::PlanWriter;
using test::SeenStep;

std::pair<double, unsigned> sound_board(const SeenStep& s) {
  if (s.query == "CONT") return {s.closed.begin()->second == 5 ? 0 : 1, 0};
  if (s.query == "VOLT") return {0.001, 0};
  if (s.reference) return {s.reference == 1 ? 10.0 : 1e7, 0};
  std::set<int> high, low;
  for (const auto& [row, channel] : s.closed) {
    if (row == 1) high.insert(net_of(channel));
    if (row == 2) low.insert(net_of(channel));
  }
  for (const int n : high) {
    if (low.contains(n)) return {0.05, 0};
  }
  return {9.9e37, 1};
}

class SessionTest : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    dir_ = std::filesystem::temp_directory_path() /
           (std::string("isthmus-session-") + info->name() + std::to_string(::getpid()));
    std::filesystem::create_directories(dir_);
    auto record = record::Record::open(dir_ / "bench.isthmus");
    ASSERT_TRUE(record);
    record_ = std::move(*record);
    bench_.measure = sound_board;
    hooks_.lay = [this](const plan::Placement& p, const auto&) {
      laid_.push_back(p.name);
      return Result<Done>(Done{});
    };
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  void connect() {
    auto instrument = adapter::Instrument::connect(std::make_unique<FakeAdapter>(bench_));
    ASSERT_TRUE(instrument) << format(instrument.problem());
    instrument_ = std::move(*instrument);
  }
  Result<Outcome> run(plan::Plan plan) {
    if (!instrument_) connect();
    return run_test(board_, std::move(plan), *instrument_, *record_, record::RunHead{}, hooks_);
  }
  Outcome outcome(plan::Plan plan = PlanWriter().plan()) {
    auto done = run(std::move(plan));
    EXPECT_TRUE(done) << (done ? "" : format(done.problem()));
    return done ? std::move(*done) : Outcome{};
  }
  std::string refusal(plan::Plan plan) {
    const auto done = run(std::move(plan));
    return done ? "" : done.problem().code;
  }
  // The readings of a record are those of the run, however it ended.
  void expect_journalled(const Outcome& out) {
    const auto stored = record_->load(out.run);
    ASSERT_TRUE(stored);
    EXPECT_EQ(stored->readings, out.readings);
    EXPECT_EQ(stored->plan.steps.size(), out.plan.steps.size());
    EXPECT_EQ(stored->result.state, out.result.state);
  }

  std::filesystem::path dir_;
  expect::Board board_ = test::two_nets();
  FakeBench bench_;
  Hooks hooks_;
  std::vector<std::string> laid_;
  std::unique_ptr<record::Record> record_;
  std::unique_ptr<adapter::Instrument> instrument_;
};

TEST_F(SessionTest, PassesASoundBoard) {
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_EQ(out.result.state, "done");
  EXPECT_FALSE(out.link_failure || out.stopped);
  EXPECT_EQ(out.readings.size(), out.plan.steps.size());
  EXPECT_EQ(out.result.measurements, out.readings.size());
  EXPECT_TRUE(bench_.now.closed.empty()) << "switches are open at the end";
  expect_journalled(out);
}

TEST_F(SessionTest, LaysEachPlacementInTurn) {
  const Outcome out = outcome(PlanWriter(3).plan());
  EXPECT_EQ(laid_, (std::vector<std::string>{"A", "B", "C"}));
  EXPECT_EQ(out.result.placements, 3u);
  EXPECT_EQ(record_->load(out.run)->placements_done, (std::vector<std::size_t>{0, 1, 2}));
}

TEST_F(SessionTest, MeasuresWhatTheDiagnosisWantsBeforeThePlacementIsLeft) {
  bench_.measure = [](const SeenStep& s) -> std::pair<double, unsigned> {  // TIDE is open
    const bool tide = s.closed.contains({1, 1}) && s.closed.contains({2, 2});
    const bool turned = s.closed.contains({1, 2}) && s.closed.contains({2, 1});
    if ((tide || turned) && s.query != "CONT") return {9.9e37, s.query == "FRES" ? 5u : 1u};
    return sound_board(s);
  };
  const Outcome out = outcome(PlanWriter(2).plan());
  const std::size_t planned = PlanWriter(2).plan().steps.size();
  ASSERT_GT(out.plan.steps.size(), planned);
  bool seen_b = false;
  for (const plan::Reading& r : out.readings) {
    const Step& s = out.plan.step(r.step);
    seen_b = seen_b || s.placement == 1;
    EXPECT_FALSE(seen_b && s.placement == 0);
  }
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::fail);
  ASSERT_EQ(out.result.diagnosis.findings.size(), 1u);
  EXPECT_EQ(out.result.diagnosis.findings[0].kind, diagnose::FindingKind::open);
  EXPECT_EQ(out.result.diagnosis.findings[0].nets, std::vector<std::string>{"TIDE"});
  expect_journalled(out);
}

TEST_F(SessionTest, StopsAtOnceWhenTheBoardHasAVoltageOfItsOwn) {
  bench_.measure = [](const SeenStep& s) {
    return s.query == "VOLT" ? std::pair{-3.01, 0u} : sound_board(s);
  };
  const Outcome out = outcome();
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "SES-007");
  EXPECT_EQ(out.stopped->message,
            "there are -3.01 V of its own on the board (placement A, channel 1 against channel 3)");
  EXPECT_EQ(out.readings.size(), 1u) << "nothing is measured after it";
  EXPECT_EQ(out.result.state, "broken off");
  EXPECT_NE(out.result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_TRUE(bench_.now.closed.empty());
  expect_journalled(out);
}

TEST_F(SessionTest, StopsWhenTheVoltageCannotBeTold) {
  bench_.measure = [](const SeenStep& s) {
    return s.query == "VOLT" ? std::pair{9.9e37, 1u} : sound_board(s);
  };
  const Outcome out = outcome();
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "SES-009");
  EXPECT_EQ(out.readings.size(), 1u);
}

TEST_F(SessionTest, EndsIncompleteWhenNobodyLaysTheProbes) {
  hooks_.lay = [&](const plan::Placement& p, const auto&) -> Result<Done> {
    if (p.name == "A") return Done{};
    Problem why;
    why.code = "CLI-009";
    why.message = "no terminal";
    return why;
  };
  const Outcome out = outcome(PlanWriter(2).plan());
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->message, "no terminal");
  EXPECT_FALSE(out.link_failure);
  EXPECT_EQ(out.result.placements, 1u);
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::incomplete);
  expect_journalled(out);
}

TEST_F(SessionTest, TellsALinkFailureOfTheLayingAsOne) {
  hooks_.lay = [](const plan::Placement&, const auto&) -> Result<Done> {
    Problem why;
    why.cause = Cause::link;
    return why;
  };
  EXPECT_TRUE(outcome().link_failure);
}

TEST_F(SessionTest, StopsOnRequestBetweenBatches) {
  hooks_.interrupted = [&] { return !bench_.steps.empty(); };
  const Outcome out = outcome();
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "SES-008");
  EXPECT_EQ(out.readings.size(), 1u);
  EXPECT_TRUE(bench_.now.closed.empty());
  expect_journalled(out);
}

TEST_F(SessionTest, ShowsItsProgress) {
  std::vector<std::size_t> seen;
  hooks_.progress = [&](std::size_t done, std::size_t of, const std::string& what) {
    seen.push_back(done);
    EXPECT_LE(done, of);
    EXPECT_EQ(what, "A");
  };
  const Outcome out = outcome();
  EXPECT_EQ(seen.size(), out.readings.size());
}

// The link goes at every read and every write of a run: it ends as a link failure, keeps what had
// arrived, and never passes.
TEST_F(SessionTest, KeepsWhatArrivedWhenTheLinkGoes) {
  connect();
  const std::size_t reads = bench_.reads, writes = bench_.writes;
  outcome();
  const std::size_t last_read = bench_.reads - 1, last_write = bench_.writes - 1;
  for (const bool reading : {true, false}) {
    const std::size_t calls = reading ? last_read - reads : last_write - writes;
    for (std::size_t n = 0; n <= calls; ++n) {
      instrument_.reset();
      bench_.gone_at_read = bench_.gone_at_write = SIZE_MAX;
      bench_.reads = bench_.writes = 0;
      connect();
      (reading ? bench_.gone_at_read : bench_.gone_at_write) =
          (reading ? bench_.reads : bench_.writes) + n;
      const Outcome out = outcome();
      ASSERT_TRUE(out.link_failure) << n;
      EXPECT_TRUE(out.result.state == "broken off" || out.readings.size() == out.plan.steps.size());
      EXPECT_TRUE(out.result.state == "done" ||
                  out.result.diagnosis.verdict == diagnose::Verdict::incomplete);
      expect_journalled(out);
    }
  }
}

TEST_F(SessionTest, RunsTwiceOnOneAdapter) {
  EXPECT_EQ(outcome().result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_EQ(outcome().result.diagnosis.verdict, diagnose::Verdict::pass);
}

TEST_F(SessionTest, HealsAGarbledAnswerWithoutATrace) {
  connect();
  bench_.on_response = [n = 0](std::size_t, std::string& r) mutable {
    if (n++ % 3 == 1) r[r.size() / 2] ^= 1;
  };
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, diagnose::Verdict::pass);
  EXPECT_EQ(out.readings.size(), out.plan.steps.size());
}

TEST_F(SessionTest, RefusesAPlanTheAdapterCannotCarryOut) {
  const auto changed = [](auto change) {
    plan::Plan p = PlanWriter().plan();
    change(p);
    return p;
  };
  EXPECT_EQ(refusal(changed([](plan::Plan& p) { p.steps[6].source = {65}; })), "SES-001");
  EXPECT_EQ(refusal(changed([](plan::Plan& p) {
              for (Step& s : p.steps) s.volts = Volts{s.volts.value * 3};
            })),
            "SES-004");
  EXPECT_EQ(refusal(changed([](plan::Plan& p) {
              for (Step& s : p.steps) s.limit = Ohms{1e10};
            })),
            "SES-005");
  EXPECT_EQ(refusal(changed([](plan::Plan& p) { p.steps[1].reference = 3; })), "SES-006");
  instrument_.reset();
  bench_.capabilities = "CONTRACT 1;CHANNELS 64;WIRES 2;CONTACT 1;REFERENCES 10|1E7;VOLTAGE 10";
  EXPECT_EQ(refusal(PlanWriter().plan()), "SES-002");
  instrument_.reset();
  bench_.capabilities = "CONTRACT 1;CHANNELS 64;WIRES 4;REFERENCES 10|1E7;VOLTAGE 10";
  EXPECT_EQ(refusal(PlanWriter().plan()), "SES-003");
  // docs/record.md, Uncertainties: 2 (0.2 V / (1.414 0.1 A)) = 2.83 ohm of 10; 2 (1e7)^2 64 1e-8 /
  // 10 = 12.8 Mohm of 10.
  for (const char* poor : {"NOISE 0.2", "LEAKAGE 1E-8"}) {
    instrument_.reset();
    bench_.capabilities =
        "CONTRACT 1;CHANNELS 64;WIRES 4;CONTACT 1;REFERENCES 10|1E7;VOLTAGE 10;SOURCE 0.1;" +
        std::string(poor);
    EXPECT_EQ(refusal(PlanWriter().plan()), "SES-020") << poor;
  }
  EXPECT_TRUE(bench_.steps.empty()) << "nothing was measured";
  EXPECT_TRUE(record_->history("")->empty()) << "and no run begun";
}

}  // namespace
}  // namespace isthmus::session
