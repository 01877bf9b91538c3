// SPDX-License-Identifier: Apache-2.0
// kill -9 at random moments of a run over several placements, then `--resume`. Oracle: the run that
// was let alone. The board behind the simulator is a resistor network with an open and a bridge.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "tests/pipeline/programs.hpp"

namespace isthmus {
namespace {

using nlohmann::json;

constexpr int kNets = 12, kPins = 4;  // tracks 1 mm apart, pads 5 mm apart along them

std::string pin(int net, int k) { return "N" + std::to_string(net) + "." + std::to_string(k); }
std::string node(int net, int k) { return "n" + std::to_string(net) + "_" + std::to_string(k); }

class Kills : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string pads = "D10*\n", tracks = "D11*\n", records = "P  UNITS CUST 1\n", points,
                resistors;
    for (int net = 1; net <= kNets; ++net) {
      const long y = net * 1'000'000L;
      for (int k = 1; k <= kPins; ++k) {
        const long x = (k - 1) * 5'000'000L;
        pads += "X" + std::to_string(x) + "Y" + std::to_string(y) + "D03*\n";
        char text[100];
        std::snprintf(text, sizeof text,
                      "327LINE%-10d   N%-5d-%d          A01X%+07ldY%+07ldX0500Y0000\n", net, net, k,
                      x / 1000, y / 1000);
        records += text;
        points += (points.empty() ? "" : ", ") + pin(net, k) + ": " + node(net, k);
        if (k == 1 || (net == 5 && k == 3)) continue;  // net 5 is open before its third pin
        resistors += "[" + node(net, k - 1) + ", " + node(net, k) + ", 0.0" +
                     std::to_string(20 + 3 * net + k) + "], ";
      }
      tracks += "X0Y" + std::to_string(y) + "D02*\nX15000000Y" + std::to_string(y) + "D01*\n";
    }
    test::write(folder_ / "top.gbr",
                "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.5*%\n%ADD11C,0.3*%\nG01*\n" + pads +
                    tracks + "M02*\n");
    test::write(folder_ / "n.d356", records + "999\n");
    test::write(folder_ / "board.yaml",
                "isthmus: 1\nname: lines\nartwork: {top: top.gbr}\nnetlist: n.d356\nstage: "
                "etched-top\nlimits: {excess: 0.2 ohm}\n");
    network_ = "network:\n  points: {" + points + "}\n  resistors: [" + resistors + "[" +
               node(8, 2) + ", " + node(9, 2) + ", 47]]\n";
    const auto made = test::isthmus({"fixture", folder_ / "board.yaml", "--channels", "16",
                                     "--contact-check", "--out", folder_ / "f.yaml"});
    ASSERT_EQ(made.code, 0) << made.err;
  }
  std::vector<std::string> words(const std::string& record, bool slow) {
    const auto bench = folder_ / (slow ? "slow.yaml" : "quick.yaml");
    test::write(bench, "isthmus: 1\nchannels: 16\nseed: 4\nclock: " +
                           std::string(slow ? "real" : "virtual") +
                           "\nlink: {latency-us: " + (slow ? "30000" : "0") + "}\n" + network_);
    return {"test",      folder_ / "board.yaml", "--unit",    "T1",
            "--fixture", folder_ / "f.yaml",     "--adapter", "sim:" + bench.string(),
            "--record",  folder_ / record,       "--json"};
  }
  test::Folder folder_;
  std::string network_;
};

TEST_F(Kills, AtAnyMomentAndResumedEndAsTheRunThatWasLetAlone) {
  const auto whole = test::isthmus(words("whole.db", true));
  ASSERT_EQ(whole.code, 1) << whole.err;
  const json a = test::json_of(whole);
  ASSERT_EQ(a["findings"].size(), 2U);
  ASSERT_GE(a["placements"].get<int>(), 3);
  const double measuring = a["seconds"];
  const int times = std::getenv("ISTHMUS_SLOW") != nullptr ? 100 : 5;
  std::mt19937 random(41);
  std::uniform_real_distribution<double> share(-0.05, 1.0);
  int interrupted = 0, carried = 0;
  for (int i = 0; i < times; ++i) {
    const std::string record = "kill" + std::to_string(i) + ".db";
    const double moment = whole.seconds - measuring * (1 - share(random));
    test::run(test::isthmus_program(), words(record, true),
              std::chrono::milliseconds(std::llround(moment * 1000)));
    auto again = words(record, false);
    again.emplace_back("--resume");
    auto ran = test::isthmus(again);
    if (ran.code == 2) {  // killed before the run began, or after its end
      EXPECT_NE(ran.err.find("CLI-053"), std::string::npos) << ran.err;
      continue;
    }
    ++interrupted;
    carried += ran.out.find("carried over from it") != std::string::npos ? 1 : 0;
    ASSERT_EQ(ran.code, 1) << moment << ran.err;
    const json b = test::json_of(ran);
    EXPECT_EQ(a["verdict"], b["verdict"]) << moment;
    EXPECT_EQ(a["coverage"], b["coverage"]) << moment;
    EXPECT_EQ(a["untested"], b["untested"]) << moment;
    ASSERT_EQ(b["findings"].size(), 2U) << moment;
    for (std::size_t f = 0; f < 2; ++f) {
      for (const char* key : {"kind", "nets", "parts"})
        EXPECT_EQ(a["findings"][f][key], b["findings"][f][key]) << moment;
      const json &s = a["findings"][f]["suspects"][0], &t = b["findings"][f]["suspects"][0];
      EXPECT_LE(std::hypot(s["x_mm"].get<double>() - t["x_mm"].get<double>(),
                           s["y_mm"].get<double>() - t["y_mm"].get<double>()),
                0.1)
          << moment;
    }
  }
  RecordProperty("interrupted", interrupted);
  RecordProperty("carried", carried);
  std::printf("%d of %d runs interrupted, %d of them carried placements over\n", interrupted, times,
              carried);
  if (times == 100) {
    EXPECT_GE(interrupted, 70) << "else little was tried";
    EXPECT_GE(carried, 30);
  }
}

}  // namespace
}  // namespace isthmus
