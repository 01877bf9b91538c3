// SPDX-License-Identifier: Apache-2.0
// The whole loop over a real link to isthmus-sim, which was written from docs/adapter.md by other
// hands and shares no parser with the program. The board behind it is a resistor network; what must
// be found follows from it.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cmath>
#include <csignal>
#include <filesystem>
#include <fstream>

#include "tests/session/two_nets.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::session {
namespace {

using diagnose::FindingKind;
using diagnose::Verdict;
using test::PlanWriter;

// A simulator of its own process, ended with the object.
class Simulator {
 public:
  Simulator(const std::filesystem::path& scenario, const std::string& link) {
    std::array<int, 2> pipe{};
    if (::pipe(pipe.data()) != 0) return;
    child_ = ::fork();
    if (child_ == 0) {
      ::dup2(pipe[1], STDOUT_FILENO);
      ::close(pipe[0]);
      const std::string program = (test::binary_dir() / "hostsim/isthmus-sim").string();
      if (link == "tcp")
        ::execl(program.c_str(), "isthmus-sim", scenario.c_str(), "--tcp", "0", nullptr);
      else
        ::execl(program.c_str(), "isthmus-sim", scenario.c_str(), "--pty", nullptr);
      ::_exit(127);
    }
    ::close(pipe[1]);
    for (char c{}; ::read(pipe[0], &c, 1) == 1 && c != '\n';) address_ += c;
    ::close(pipe[0]);
  }
  Simulator(const Simulator&) = delete;
  Simulator& operator=(const Simulator&) = delete;
  ~Simulator() {
    ::kill(child_, SIGTERM);
    ::waitpid(child_, nullptr, 0);
  }
  [[nodiscard]] const std::string& address() const { return address_; }

 private:
  pid_t child_{-1};
  std::string address_;
};

constexpr const char* kSound = "[t1, t2, 0.35], [g1, g2, 0.1]";

class SimulatorTest : public ::testing::Test {
 protected:
  void SetUp() override {
    if (!std::filesystem::exists(test::binary_dir() / "hostsim/isthmus-sim")) {
      GTEST_SKIP() << "isthmus-sim is not built here";
    }
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    dir_ = std::filesystem::temp_directory_path() /
           (std::string("isthmus-sim-") + info->name() + std::to_string(::getpid()));
    std::filesystem::create_directories(dir_);
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  Outcome run(const std::string& resistors, const std::string& more = "",
              const std::string& link = "pty") {
    const auto scenario = dir_ / "sim.yaml";
    std::ofstream(scenario)
        << "isthmus: 1\nnetwork:\n  points: {J1.1: t1, J1.2: t2, J1.3: g1, J1.4: g2}\n"
        << "  resistors: [" << resistors << "]\n"
        << more;
    const Simulator simulator(scenario, link);
    auto stream =
        adapter::open_stream(simulator.address(), adapter::Clock::now() + std::chrono::seconds(10));
    EXPECT_TRUE(stream) << simulator.address() << (stream ? "" : format(stream.problem()));
    if (!stream) return {};
    auto instrument = adapter::Instrument::connect(std::move(*stream));
    EXPECT_TRUE(instrument) << (instrument ? "" : format(instrument.problem()));
    if (!instrument) return {};
    auto record = record::Record::open(dir_ / "bench.isthmus");
    EXPECT_TRUE(record);
    Hooks hooks;  // without a fixture the probes rest on the network's points in order
    hooks.lay = [](const plan::Placement&, const auto&) { return Result<Done>(Done{}); };
    plan::Plan plan = PlanWriter().plan();
    plan.wires = (*instrument)->capabilities().wires;
    auto out = run_test(test::two_nets(), std::move(plan), **instrument, **record, {}, hooks);
    EXPECT_TRUE(out) << (out ? "" : format(out.problem()));
    return out ? std::move(*out) : Outcome{};
  }

  std::filesystem::path dir_;
};

std::string findings_of(const Outcome& out) {
  std::string text;
  for (const auto& f : out.result.diagnosis.findings) {
    text += std::string(diagnose::name(f.kind)) + ":";
    for (const std::string& net : f.nets) text += " " + net;
    text += "; ";
  }
  return text;
}

std::vector<double> values_of(const Outcome& out, plan::StepKind kind) {
  std::vector<double> values;
  for (const plan::Reading& r : out.readings) {
    if (out.plan.step(r.step).kind != kind) continue;
    const auto* measured = std::get_if<plan::Measured>(&r.outcome);
    values.push_back(measured ? measured->value : INFINITY);
  }
  return values;
}

TEST_F(SimulatorTest, PassesASoundBoard) {
  for (const char* link : {"pty", "tcp"}) {
    const Outcome out = run(kSound, "", link);
    EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass) << link << ": " << findings_of(out);
    EXPECT_FALSE(out.link_failure || out.stopped) << link;
  }
}

TEST_F(SimulatorTest, MeasuresWhatTheNetworkIs) {
  const Outcome out = run(kSound, "contact: {ohm: 0, spread: 0}\n");
  const auto ohms = values_of(out, plan::StepKind::continuity);
  ASSERT_GE(ohms.size(), 4u);
  EXPECT_NEAR(ohms[0], 0.35, 0.002);
  EXPECT_NEAR(ohms[1], 0.1, 0.002);
  const auto references = values_of(out, plan::StepKind::reference);
  ASSERT_GE(references.size(), 4u);
  for (std::size_t i = 0; i < references.size(); i += 2) {
    EXPECT_NEAR(references[i], 10, 0.5);
    EXPECT_NEAR(references[i + 1], 1e7, 5e5);
  }
}

TEST_F(SimulatorTest, FindsAnOpenAndABridge) {
  const Outcome open = run("[g1, g2, 0.1]");
  EXPECT_EQ(open.result.diagnosis.verdict, Verdict::fail);
  EXPECT_EQ(findings_of(open), "open: TIDE; ");
  const Outcome bridge = run(std::string(kSound) + ", [t1, g2, 3.0]");
  EXPECT_EQ(bridge.result.diagnosis.verdict, Verdict::fail);
  EXPECT_EQ(findings_of(bridge), "bridge: GND TIDE; ");
}

TEST_F(SimulatorTest, WorksWithTwoWires) {
  const Outcome out = run(kSound, "adapter: {wires: 2, switch-ohm: 0.5}\n");
  EXPECT_NE(out.result.diagnosis.verdict, Verdict::fail) << findings_of(out);
  EXPECT_EQ(out.result.state, "done");
}

TEST_F(SimulatorTest, HealsLostAndGarbledReplies) {
  for (const char* link : {"{garble: 0.2}", "{drop: 0.02, garble: 0.1}"}) {
    const Outcome out = run(kSound, std::string("link: ") + link + "\n");
    EXPECT_EQ(findings_of(out), "") << link;
    const bool healed = out.result.diagnosis.verdict == Verdict::pass;
    EXPECT_TRUE(healed || out.link_failure) << link;
  }
}

TEST_F(SimulatorTest, EndsAsALinkFailureWhenUnplugged) {
  for (const char* link : {"pty", "tcp"}) {
    const Outcome out = run(kSound, "link: {unplug-after: 7}\n", link);
    ASSERT_TRUE(out.link_failure) << link;
    EXPECT_EQ(out.result.diagnosis.verdict, Verdict::incomplete);
    EXPECT_EQ(out.result.state, "broken off");
  }
}

TEST_F(SimulatorTest, StopsAtABatteryLeftOnTheBoard) {
  const Outcome out = run(kSound, "board-volts: 3\n");
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "SES-007");
  EXPECT_EQ(out.readings.size(), 1u);
}

}  // namespace
}  // namespace isthmus::session
