// SPDX-License-Identifier: Apache-2.0
// Boards read from files, fixtures laid on them.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "hostsim/copper/bench.hpp"
#include "hostsim/device/device.hpp"
#include "hostsim/scenario/point_names.hpp"

namespace isthmus::hostsim {
namespace {

namespace fs = std::filesystem;

// Two tracks on top; R1.1 and R1.2 on the first, R2.1 on the second; D4 twice on the second.
constexpr const char* kTop =
    "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.400000*%\nD10*\nX1000000Y1000000D02*"
    "\nX9000000Y1000000D01*\n"
    "X1000000Y3000000D02*\nX9000000Y3000000D01*\nM02*\n";

std::string record(const std::string& net, const std::string& ref, const std::string& pin, int x_um,
                   int y_um) {
  std::array<char, 96> line{};
  std::snprintf(line.data(), line.size(),
                "327%-14s   %-6s-%-4s       A01X%+07dY%+07dX0400Y0000R000 S0\n", net.c_str(),
                ref.c_str(), pin.c_str(), x_um, y_um);
  return line.data();
}

class BenchFiles : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ =
        fs::path(::testing::TempDir()) /
        ("bench_" + std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::create_directories(folder_);
    write("top.gbr", kTop);
    write("net.d356", "P  UNITS CUST 1\n" + record("A", "R1", "1", 1000, 1000) +
                          record("A", "R1", "2", 9000, 1000) + record("B", "R2", "1", 1000, 3000) +
                          record("B", "D4", "1", 8000, 3000) + record("B", "D4", "1", 4000, 3000) +
                          "999\n");
    write("board.yaml",
          "isthmus: 1\nartwork: {top: top.gbr}\nnetlist: net.d356\nstage: etched-top\n");
  }
  void TearDown() override { fs::remove_all(folder_); }

  void write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name) << text;
  }

  Scenario scenario(const std::string& more = {}) const {
    return parse_scenario("isthmus: 1\nboard: board.yaml\nchannels: 8\n" + more,
                          folder_ / "sim.yaml")
        .value();
  }
  std::optional<formats::FixtureFile> fixture(const std::string& probes) const {
    write("fixture.yaml",
          "isthmus: 1\nchannels: 8\nplacements:\n  - {name: A, side: top, probes: {" + probes +
              "}}\n");
    return formats::read_fixture_file(folder_ / "fixture.yaml").value();
  }
  // 1 for each of the first channels whose tip touches copper in placement A.
  std::string contacts(const Scenario& s, const std::string& probes, int count) const {
    std::vector<std::string> warnings;
    auto bench = make_copper_bench(s, fixture(probes), warnings).value();
    Device device(s, *bench);
    device.run(":SIM:PLAC \"A\"");
    std::string found;
    for (int c = 1; c <= count; ++c) {
      const std::string n = std::to_string(c);
      const std::string reply = device.run(":SYST:TAG 1;:ROUT:CLOS (@1!" + n + ");:MEAS:CONT?");
      found += reply.find("+1.000000E+00") != std::string::npos ? '1' : '0';
    }
    return found;
  }

  fs::path folder_;
};

TEST_F(BenchFiles, LayProbesByNamePlaceAndTwin) {
  EXPECT_EQ(
      contacts(scenario(), "1: R1.1, 2: {point: R2.1, twin: 4}, 3: [5.0, 1.0], 5: [5.0, 2.0]", 6),
      "111100");
}

TEST_F(BenchFiles, MeasureTheirCopper) {
  const Scenario s = scenario("contact: {ohm: 0, spread: 0}\nadapter: {noise-uv: 0}\n");
  std::vector<std::string> warnings;
  auto bench = make_copper_bench(s, fixture("1: R1.1, 2: R1.2, 3: R2.1"), warnings).value();
  Device device(s, *bench);
  device.run(":SIM:PLAC \"A\"");
  const std::string reply = device.run(":ROUT:CLOS (@1!1,3!1,2!2,4!2);:MEAS:FRES?");
  // 8 mm of 0.4 mm track at 35 um: 20 squares of 0.4926 mohm (IEC 60028), and the ends' spreading.
  EXPECT_NEAR(std::stod(reply.substr(reply.find("),") + 2)), 20 * 0.4926e-3, 1.5e-3);
  const std::string across = device.run(":SYST:TAG 2;:ROUT:CLOS (@1!1,2!3);:MEAS:ISOL? 1E7");
  EXPECT_NE(across.find("+9.900000E+37,1,"), std::string::npos);
}

TEST_F(BenchFiles, TouchNothingUntilLaid) {
  const Scenario s = scenario();
  std::vector<std::string> warnings;
  auto bench = make_copper_bench(s, fixture("1: R1.1"), warnings).value();
  Device device(s, *bench);
  EXPECT_NE(device.run(":ROUT:CLOS (@1!1);:MEAS:CONT?").find("+0.000000E+00"), std::string::npos);
}

TEST_F(BenchFiles, FollowAShiftedTurnedOrMirroredFixture) {
  const char* probes = "1: [1.5, 1.0], 2: [1.5, 3.0]";
  EXPECT_EQ(contacts(scenario(), probes, 2), "11");
  EXPECT_EQ(contacts(scenario("fixture: {shift: [0, 1.0]}\n"), probes, 2), "00");
  EXPECT_EQ(contacts(scenario("fixture: {shift: [0, 2.0]}\n"), probes, 2), "10");
  EXPECT_EQ(contacts(scenario("fixture: {turn: 180}\n"), probes, 2),
            "11");  // the board is symmetric
  EXPECT_EQ(contacts(scenario("fixture: {turn: 90}\n"), probes, 2), "00");
  EXPECT_EQ(contacts(scenario("fixture: {shift: [-3, 0], mirror: true}\n"),
                     "1: [8.9, 1.0], 2: [1.5, 1.0]", 2),
            "01");
}

TEST_F(BenchFiles, MissByTheTipsOwnAim) {
  int touched = 0;
  for (int seed = 0; seed < 20; ++seed) {
    const std::string more = "fixture: {aim-mm: 1.0}\nseed: " + std::to_string(seed) + "\n";
    if (contacts(scenario(more), "1: [5.0, 1.0]", 1) == "1") ++touched;
  }
  EXPECT_GT(touched, 0);
  EXPECT_LT(touched, 15);
}

TEST_F(BenchFiles, GiveTheHashOfTheArtwork) {
  const Scenario s = scenario();
  std::vector<std::string> warnings;
  const auto bench = make_copper_bench(s, std::nullopt, warnings).value();
  EXPECT_EQ(bench->hashes(), (std::vector<std::string>{formats::sha256(kTop)}));
}

TEST_F(BenchFiles, RefuseAPointWithoutAPlace) {
  std::vector<std::string> warnings;
  const auto bench = make_copper_bench(scenario(), fixture("1: Q9.1"), warnings);
  ASSERT_FALSE(bench);
  EXPECT_EQ(bench.problem().code, "SIM-025");
  EXPECT_EQ(bench.problem().line, 4);
}

TEST_F(BenchFiles, RefuseAChannelTheAdapterLacks) {
  std::vector<std::string> warnings;
  Scenario s = scenario();
  s.channels = 4;
  const auto bench = make_copper_bench(s, fixture("5: R1.1"), warnings);
  ASSERT_FALSE(bench);
  EXPECT_EQ(bench.problem().code, "SIM-021");
}

TEST_F(BenchFiles, FindPointsByTheirNames) {
  Diagnostics notes;
  const auto board = formats::read_board_file(folder_ / "board.yaml").value();
  const PointNames names(formats::load_design(board, notes).value());
  EXPECT_EQ(names.find("R1.2"), position_mm(9, 1));
  EXPECT_EQ(names.find("R1.2@top"), position_mm(9, 1));
  EXPECT_EQ(names.find("D4.1"), position_mm(4, 3));  // by x: the leftmost is the first
  EXPECT_EQ(names.find("D4.1#2"), position_mm(8, 3));
  EXPECT_EQ(names.find("D4.1#3"), std::nullopt);
  EXPECT_EQ(names.find("@1.250,-2.000"), position_mm(1.25, -2));
  EXPECT_EQ(names.find("VIA@3.000,4.000"), position_mm(3, 4));
  EXPECT_EQ(names.find("@1.250,-2.000#2"), position_mm(1.25, -2));
  EXPECT_EQ(names.find("@1.250,-2.000@bottom"), position_mm(1.25, -2));
  EXPECT_EQ(names.find("@1.250"), std::nullopt);
  EXPECT_EQ(names.find("R9.1"), std::nullopt);
}

}  // namespace
}  // namespace isthmus::hostsim
