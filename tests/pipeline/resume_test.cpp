// SPDX-License-Identifier: Apache-2.0
// Runs over the demo board that die, and are continued. Oracle: the run that did not.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <random>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using nlohmann::json;
using test::Folder;
using test::Ran;

class Resume : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    folder_ = std::make_unique<Folder>();
    test::lay_tide_gauge(*folder_);
    bench_ = test::read(*folder_ / "bench-etched.yaml");
    const Ran fixture =
        test::isthmus({"fixture", *folder_ / "board.yaml", "--stage", "etched", "--channels", "64",
                       "--contact-check", "--out", *folder_ / "f.yaml"});
    ASSERT_EQ(fixture.code, 0) << fixture.err;
    whole_ = run("whole.db", "whole", bench_);
    ASSERT_EQ(whole_.code, 1) << whole_.err;
  }
  static void TearDownTestSuite() { folder_.reset(); }

  static std::vector<std::string> arguments(const std::string& record, const std::string& unit,
                                            const std::string& bench) {
    test::write(*folder_ / "bench.yaml", bench);
    return {"test",
            *folder_ / "board.yaml",
            "--stage",
            "etched",
            "--unit",
            unit,
            "--record",
            *folder_ / record,
            "--json",
            "--fixture",
            *folder_ / "f.yaml",
            "--adapter",
            "sim:" + (*folder_ / "bench.yaml").string()};
  }
  static Ran run(const std::string& record, const std::string& unit, const std::string& bench) {
    return test::isthmus(arguments(record, unit, bench));
  }
  static Ran resume(const std::string& record, const std::string& unit, const std::string& bench) {
    auto with = arguments(record, unit, bench);
    with.emplace_back("--resume");
    return test::isthmus(with);
  }
  // Kinds, nets, parts; the likeliest place within 0.1 mm.
  static void expect_like_the_whole(const Ran& ran, const std::string& what) {
    ASSERT_EQ(ran.code, whole_.code) << what << ran.err;
    const json a = test::json_of(whole_), b = test::json_of(ran);
    EXPECT_EQ(a["verdict"], b["verdict"]) << what;
    EXPECT_EQ(a["coverage"], b["coverage"]) << what;
    EXPECT_EQ(a["untested"], b["untested"]) << what;
    ASSERT_EQ(a["findings"].size(), b["findings"].size()) << what;
    for (std::size_t i = 0; i < a["findings"].size(); ++i) {
      const json &f = a["findings"][i], &g = b["findings"][i];
      for (const char* key : {"kind", "nets", "parts"}) EXPECT_EQ(f[key], g[key]) << what;
      ASSERT_EQ(f["suspects"].empty(), g["suspects"].empty()) << what;
      if (f["suspects"].empty()) continue;
      const json &s = f["suspects"][0], &t = g["suspects"][0];
      EXPECT_LE(std::hypot(s["x_mm"].get<double>() - t["x_mm"].get<double>(),
                           s["y_mm"].get<double>() - t["y_mm"].get<double>()),
                0.1)
          << what << f["nets"];
    }
  }

  static std::unique_ptr<Folder> folder_;
  static std::string bench_;
  static Ran whole_;
};
std::unique_ptr<Folder> Resume::folder_;
std::string Resume::bench_;
Ran Resume::whole_;

TEST_F(Resume, AfterAPulledCableEndsAsTheUnbrokenRun) {
  const Ran broken =
      run("cable.db", "T1", test::with(bench_, "link: {", "link: {unplug-after: 60, "));
  EXPECT_EQ(broken.code, 3) << broken.err;
  EXPECT_EQ(test::json_of(broken)["verdict"], "incomplete");
  const Ran ran = resume("cable.db", "T1", bench_);
  expect_like_the_whole(ran, "unplugged");
  const auto remarks = test::json_of(ran)["remarks"].dump();
  EXPECT_NE(remarks.find("continues run 1: placement A"), std::string::npos) << remarks;
}

TEST_F(Resume, AfterKillAtAnyMomentEndsAsTheUnbrokenRun) {
  const bool all = std::getenv("ISTHMUS_SLOW") != nullptr;
  const std::string slow = test::with(bench_, "clock: virtual", "clock: real");
  const Ran real = run("real.db", "T2", slow);
  const double measuring = test::json_of(real)["seconds"];
  std::mt19937 random(26);
  std::uniform_real_distribution<double> share(-0.1, 1.0);
  int interrupted = 0;
  for (int i = 0; i < (all ? 10 : 2); ++i) {
    const std::string record = "kill" + std::to_string(i) + ".db";
    const double moment = real.seconds - measuring * (1 - share(random));
    const Ran killed = test::run(test::isthmus_program(), arguments(record, "T3", slow),
                                 std::chrono::milliseconds(std::llround(moment * 1000)));
    Ran ran = resume(record, "T3", bench_);
    if (ran.code == 2) {  // killed before the run began, or after its end
      EXPECT_NE(ran.err.find("CLI-053"), std::string::npos) << ran.err;
      ran = run(record, "T3", bench_);
    } else {
      ++interrupted;
    }
    expect_like_the_whole(ran, "killed after " + std::to_string(moment) + " s ");
  }
  RecordProperty("interrupted", interrupted);
  if (all) {
    EXPECT_GE(interrupted, 5) << "else little was tried";
  }
}

TEST_F(Resume, ASignalOpensTheSwitchesAndTheRunCanBeContinued) {
  const std::string slow = test::with(bench_, "clock: virtual", "clock: real");
  for (const int signal : {SIGINT, SIGHUP}) {
    const std::string trace = *folder_ / ("trace" + std::to_string(signal));
    auto with = arguments("signal.db", "T9", slow);
    with.insert(with.begin(), {"ISTHMUS_TRACE=" + trace, test::isthmus_program()});
    // After some of the steps, however fast the machine is.
    const std::size_t some = signal == SIGINT ? 40 : 400;
    const auto measured = [&] {
      std::ifstream said(trace);
      std::size_t steps = 0;
      for (std::string line; steps < some && std::getline(said, line);) {
        for (std::size_t at = line.find(":MEAS:"); at != std::string::npos;
             at = line.find(":MEAS:", at + 1))
          ++steps;
      }
      return steps >= some;
    };
    const Ran stopped = test::run_until("/usr/bin/env", with, measured, signal);
    EXPECT_TRUE(stopped.code == 1 || stopped.code == 4) << stopped.code << stopped.err;
    EXPECT_NE(stopped.err.find("error SES-008: stopped on request\n  hint: the same command with "
                               "--resume goes on where it broke off\n"),
              std::string::npos)
        << stopped.err;
    EXPECT_LT(test::json_of(stopped)["coverage"]["tested"],
              test::json_of(whole_)["coverage"]["tested"]);
    const std::string said = test::read(trace);
    const std::size_t reset = said.rfind("*RST;:ROUT:CLOS:STAT?");
    ASSERT_NE(reset, std::string::npos);
    EXPECT_NE(said.find("(@)", reset), std::string::npos) << "the switches are open at the end";
    EXPECT_EQ(said.find(":MEAS:", reset), std::string::npos);
  }
  expect_like_the_whole(resume("signal.db", "T9", bench_), "stopped by a signal ");
}

TEST_F(Resume, SaysWhatStandsInItsWay) {
  const Ran broken =
      run("way.db", "T5", test::with(bench_, "link: {", "link: {unplug-after: 30, "));
  ASSERT_EQ(broken.code, 3);
  const auto refused = [&](std::vector<std::string> with, const std::string& words) {
    with.emplace_back("--resume");
    const Ran ran = test::isthmus(with);
    EXPECT_EQ(ran.code, 2) << words;
    EXPECT_TRUE(ran.out.empty()) << words;
    EXPECT_NE(ran.err.find(words), std::string::npos) << ran.err;
  };
  auto with = arguments("way.db", "", bench_);
  with.erase(with.begin() + 4, with.begin() + 6);
  refused(with, "CLI-052");
  refused(arguments("way.db", "T6", bench_), "there is no run of unit T6");
  with = arguments("way.db", "T5", bench_);
  with.insert(with.end(), {"--limits.continuity", "12 ohm"});
  refused(with, "other limits");
  ASSERT_EQ(run("way.db", "T7", bench_).code, 1);
  refused(arguments("way.db", "T7", bench_), "reached its end");
}

}  // namespace
}  // namespace isthmus
