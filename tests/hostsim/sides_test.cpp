// SPDX-License-Identifier: Apache-2.0
// From which side each tip comes down. Oracle: the drawing (a track on top along y = 1, one below
// along y = 3, a hole with a pad on either side at [2, 5]) and the table of docs/formats/fixture.md.
#include "hostsim/scenario/sides.hpp"

#include <gtest/gtest.h>

#include <array>
#include <filesystem>
#include <fstream>

#include "hostsim/copper/bench.hpp"
#include "hostsim/device/device.hpp"
#include "hostsim/network/bench.hpp"
#include "hostsim/scenario/point_names.hpp"

namespace isthmus::hostsim {
namespace {

namespace fs = std::filesystem;

std::string layer(int y) {
  const std::string at = "Y" + std::to_string(y) + "000000";
  return "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.400000*%\n%ADD11C,1.000000*%\nD10*\nX1000000" +
         at + "D02*\nX9000000" + at + "D01*\nD11*\nX2000000Y5000000D03*\nM02*\n";
}

std::string record(const std::string& kind, const char* ref, int access, int x_um, int y_um) {
  std::array<char, 96> line{};
  std::snprintf(line.data(), line.size(),
                "%-17s   %-6s-1    %s A%02dX%+07dY%+07dX0400Y0000R000 S0\n", (kind + ref).c_str(),
                ref, kind[1] == '1' ? "D0500P" : "      ", access, x_um, y_um);
  return line.data();
}

class Sides : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ =
        fs::path(::testing::TempDir()) /
        ("sides_" + std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    fs::create_directories(folder_);
    write("top.gbr", layer(1));
    write("bottom.gbr", layer(3));
    write("holes.drl", "M48\nMETRIC\nT1C0.500\n%\nT1\nX2.0Y5.0\nM30\n");
    write("net.d356", "P  UNITS CUST 1\n" + record("327", "R1", 1, 1000, 1000) +
                          record("327", "R2", 2, 1000, 3000) + record("317", "J1", 0, 2000, 5000) +
                          "999\n");
  }
  void TearDown() override { fs::remove_all(folder_); }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name) << text;
  }
  void board(const std::string& stage) const {
    write("board.yaml",
          "isthmus: 1\nartwork: {top: top.gbr, bottom: bottom.gbr}\nholes: [{file: holes.drl, "
          "plated: true}]\nnetlist: net.d356\njoins: all\nstage: " +
              stage + "\n");
  }

  // The placement A of the given lines, laid; each query is answered by the device.
  struct Bench {
    std::unique_ptr<hostsim::Bench> bench;
    std::unique_ptr<Device> device;
  };
  Bench laid(const std::string& placement, const std::string& more = {}) const {
    write("fixture.yaml",
          "isthmus: 1\nchannels: 8\nplacements:\n  - {name: A, " + placement + "}\n");
    const Scenario s =
        parse_scenario("isthmus: 1\nboard: board.yaml\nchannels: 8\n" + more, folder_ / "sim.yaml")
            .value();
    std::vector<std::string> warnings;
    Bench b;
    b.bench =
        make_copper_bench(s, formats::read_fixture_file(folder_ / "fixture.yaml").value(), warnings)
            .value();
    b.device = std::make_unique<Device>(s, *b.bench);
    b.device->run(":SIM:PLAC \"A\"");
    return b;
  }
  // 1 for each of the first three channels whose tip touches copper.
  std::string contacts(const std::string& placement, const std::string& more = {}) const {
    const Bench b = laid(placement, more);
    std::string found;
    for (const char c : {'1', '2', '3'}) {
      const std::string reply =
          b.device->run(std::string(":SYST:TAG 1;:ROUT:CLOS (@1!") + c + ");:MEAS:CONT?");
      found += reply.find("+1.000000E+00") != std::string::npos ? '1' : '0';
    }
    return found;
  }
  bool conducts(const std::string& placement) const {
    const std::string reply =
        laid(placement).device->run(":ROUT:CLOS (@1!1,3!1,2!2,4!2);:MEAS:FRES?");
    return reply.find("+9.900000E+37") == std::string::npos;
  }
  fs::path folder_;
};

TEST_F(Sides, APlatesTipsTouchTheirSideAlone) {
  board("etched");
  EXPECT_EQ(contacts("side: top, probes: {1: R1.1, 2: R2.1, 3: J1.1}"), "101");
  EXPECT_EQ(contacts("side: bottom, probes: {1: R1.1, 2: R2.1, 3: J1.1}"), "011");
}

TEST_F(Sides, BetweenTwoPlatesEachTipTouchesItsOwn) {
  board("etched");
  EXPECT_EQ(contacts("side: both, probes: {1: R1.1, 2: R2.1}"), "110");
  EXPECT_EQ(contacts("side: both, probes: {1: {point: R1.1, side: bottom}, "
                     "2: {point: R2.1, side: top}, 3: {point: R2.1, side: bottom}}"),
            "001");
}

TEST_F(Sides, AClipTouchesTheCopperBehindThePlate) {
  board("etched");
  EXPECT_EQ(contacts("side: top, probes: {1: R1.1}, clips: {2: R2.1, 3: {point: R2.1, side: top}}"),
            "110");
  EXPECT_EQ(contacts("side: top, probes: {1: R1.1}, clips: {2: [5, 3], 3: R1.1}"), "111");
}

TEST_F(Sides, AHoleIsTouchedAtTheRingOfThatSide) {
  const std::string ends =
      "side: both, probes: {1: {point: J1.1, side: top}, 2: {point: J1.1, side: bottom}}";
  const std::string clipped = "side: top, probes: {1: J1.1}, clips: {2: J1.1}";
  board("etched");
  EXPECT_FALSE(conducts(ends));
  EXPECT_FALSE(conducts(clipped));
  EXPECT_TRUE(conducts("side: both, probes: {1: {point: J1.1, side: top}, 2: [2.4, 5]}"));
  board("joined");
  EXPECT_TRUE(conducts(ends));
  EXPECT_TRUE(conducts(clipped));
}

TEST_F(Sides, ClipsStayWhenThePlateIsLaidWrongly) {
  board("etched");
  const std::string a =
      "side: top, probes: {1: [1.5, 1]}, clips: {2: {at: [1.5, 1], side: top}, 3: R2.1}";
  EXPECT_EQ(contacts(a), "111");
  for (const char* wrong : {"shift: [0, 0.5]", "turn: 90", "shift: [30, 0], mirror: true"})
    EXPECT_EQ(contacts(a, std::string("fixture: {") + wrong + "}\n"), "011") << wrong;
}

TEST_F(Sides, ATwinComesFromTheSideOfItsTip) {
  board("etched");
  EXPECT_EQ(contacts("side: top, probes: {}, clips: {1: {point: R2.1, twin: 2}}"), "110");
}

TEST_F(Sides, PointsKnowFromWhereTheyCanBeTouched) {
  board("etched");
  Diagnostics notes;
  const auto read = formats::read_board_file(folder_ / "board.yaml").value();
  const PointNames names(formats::load_design(read, notes).value());
  EXPECT_EQ(names.side_of("R1.1"), Side::top);
  EXPECT_EQ(names.side_of("R2.1"), Side::bottom);
  EXPECT_EQ(names.side_of("J1.1"), Side::both);
  EXPECT_EQ(names.side_of("J1.1@bottom"), Side::bottom);
  EXPECT_EQ(names.side_of("VIA@1.000,1.000"), Side::both);
  EXPECT_EQ(names.side_of("@1.000,3.000"), Side::bottom);
  EXPECT_EQ(names.side_at(position_mm(1, 1.2)), Side::top);
}

// One end at each side; the resistor between them is the join.
TEST(NetworkSides, APointMayBeWrittenByItsEnds) {
  const Scenario s = parse_scenario(
                         "isthmus: 1\nchannels: 4\nnetwork: {points: {R1.1: a, J1.1@top: b, "
                         "J1.1@bottom: c}, resistors: [[a, c, 2]]}\ncontact: {ohm: 0, spread: 0}\n",
                         "sim.yaml")
                         .value();
  formats::FixtureFile f;
  f.channels = 4;
  f.placements = {{"A", Side::top, {}, {}}};
  f.placements[0].probes[1].point = "R1.1";
  f.placements[0].probes[2].point = "J1.1";
  f.placements[0].probes[3].point = "J1.1";
  f.placements[0].probes[3].clip = true;
  const Laid laid = make_network_bench(s, f).value()->lay("A").value();
  EXPECT_NE(laid.tips[0].at.conductor, laid.tips[1].at.conductor);
  EXPECT_EQ(laid.tips[0].at.conductor, laid.tips[2].at.conductor);
}

}  // namespace
}  // namespace isthmus::hostsim
