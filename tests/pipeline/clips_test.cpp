// SPDX-License-Identifier: Apache-2.0
// Plates, and clips behind them, on a board of two nets: HALYARD runs from pad A.1 on top through a
// plated hole at [10, 0] to pad B.1 on the bottom; STAY runs beside it on top, D.1 to D.2.
#include <gtest/gtest.h>

#include <cstdio>

#include "tests/pipeline/programs.hpp"

namespace isthmus {
namespace {

class Clips : public ::testing::Test {
 protected:
  void SetUp() override {
    const std::string head =
        "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.8*%\n%ADD11C,0.3*%\nG01*\nD10*\n";
    test::write(folder_ / "top.gbr", head +
                                         "X0Y0D03*\nX10000000Y0D03*\nX0Y1000000D03*\n"
                                         "X10000000Y1000000D03*\nD11*\nX0Y0D02*\nX10000000Y0D01*\n"
                                         "X0Y1000000D02*\nX10000000Y1000000D01*\nM02*\n");
    test::write(folder_ / "bottom.gbr", head +
                                            "X10000000Y0D03*\nX20000000Y0D03*\nD11*\n"
                                            "X10000000Y0D02*\nX20000000Y0D01*\nM02*\n");
    test::write(folder_ / "holes.drl", "M48\nMETRIC\nT1C0.300\n%\nT1\nX10.0Y0.0\nM30\n");
    test::write(folder_ / "n.d356", "P  UNITS CUST 1\n" + record("327HALYARD", "A", '1', 1, 0, 0) +
                                        record("327HALYARD", "B", '1', 2, 20000, 0) +
                                        record("317HALYARD", "VIA", ' ', 0, 10000, 0) +
                                        record("327STAY", "D", '1', 1, 0, 1000) +
                                        record("327STAY", "D", '2', 1, 10000, 1000) + "999\n");
    test::write(folder_ / "board.yaml",
                "isthmus: 1\nname: mast\nartwork: {top: top.gbr, bottom: bottom.gbr}\nholes: "
                "[{file: holes.drl, plated: true}]\nnetlist: n.d356\nstage: joined\njoins: all\n"
                "limits: {excess: 0.2 ohm}\n");
  }
  static std::string record(const char* net, const char* ref, char pin, int access, int x, int y) {
    char text[100];
    std::snprintf(text, sizeof text, "%-17s   %-6s%c%-4c %sA%02dX%+07dY%+07dX0800Y0000\n", net, ref,
                  pin == ' ' ? ' ' : '-', pin, net[1] == '1' ? "D0300P" : "      ", access, x, y);
    return text;
  }
  test::Ran measure(const std::string& placement, const std::string& bench = "") const {
    test::write(folder_ / "f.yaml",
                "isthmus: 1\nchannels: 8\ncontact-check: true\nplacements:\n  - {name: A, " +
                    placement + "}\n");
    test::write(
        folder_ / "bench.yaml",
        "isthmus: 1\nboard: board.yaml\nchannels: 8\nadapter: {contact-check: true}\n" + bench);
    return test::isthmus({"test", folder_ / "board.yaml", "--fixture", folder_ / "f.yaml",
                          "--adapter", "sim:" + (folder_ / "bench.yaml").string(), "--record",
                          folder_ / "r.db", "--json"});
  }
  // Exit code, and for a fault its parts.
  void expect_open(const std::string& placement, const std::string& bench) const {
    const test::Ran ran = measure(placement, bench);
    EXPECT_EQ(ran.code, 1) << ran.err;
    const auto findings = test::json_of(ran)["findings"];
    ASSERT_EQ(findings.size(), 1u) << bench;
    EXPECT_EQ(findings[0]["kind"], "open");
    EXPECT_EQ(findings[0]["parts"], nlohmann::json::parse(R"([["A.1"],["B.1"]])"));
  }
  test::Folder folder_;
};

constexpr const char* kBehind = "side: top, probes: {1: A.1, 2: D.1, 3: D.2}, clips: {4: B.1}";
constexpr const char* kTwoPlates = "side: both, probes: {1: A.1, 2: D.1, 3: D.2, 4: B.1}";
constexpr const char* kNoBarrel = "defects: [{kind: no-join, at: [10, 0]}]\n";
constexpr const char* kCutBelow =
    "defects: [{kind: open, at: [15, 0], side: bottom, diameter: 0.6}]\n";

TEST_F(Clips, AGoodBoardPassesInOnePlacement) {
  for (const char* placement : {kBehind, kTwoPlates}) {
    const test::Ran ran = measure(placement);
    EXPECT_EQ(ran.code, 0) << placement << ran.out.substr(0, 1500) << ran.err;
  }
}

TEST_F(Clips, AMissingBarrelOrACutBelowIsAnOpen) {
  for (const char* placement : {kBehind, kTwoPlates}) {
    expect_open(placement, kNoBarrel);
    expect_open(placement, kCutBelow);
  }
}

TEST_F(Clips, AShiftedPlateDoesNotPassForItsClips) {
  const test::Ran ran = measure(kBehind, "fixture: {shift: [0, 3]}\n");
  EXPECT_NE(ran.code, 0);
  EXPECT_EQ(test::json_of(ran)["findings"].size(), 0u);
}

TEST_F(Clips, APlaceBesideThePadIsRefused) {
  const test::Ran ran = measure(
      "side: top, probes: {1: {point: A.1, at: [0.6, 0]}, 2: D.1, 3: D.2}, clips: {4: B.1}");
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find("f.yaml:5:"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("PLN-009"), std::string::npos) << ran.err;
}

// Two tracks of 10 by 0.27 mm, their pads' half millimetres off: 33 to 37 squares each of 0.4926 mohm
// (IEC 60028, 35 um).
TEST_F(Clips, APlanHasResistancesWhereTheyAreAskedForAndElseNone) {
  test::write(folder_ / "f.yaml",
              "isthmus: 1\nchannels: 8\ncontact-check: true\nplacements:\n  - {name: A, side: top, "
              "probes: {1: A.1}, clips: {2: {point: B.1, side: bottom}}}\n");
  for (const bool asked : {false, true}) {
    std::vector<std::string> command{"plan", (folder_ / "board.yaml").string(), "--fixture",
                                     (folder_ / "f.yaml").string(), "--json"};
    if (asked) command.emplace_back("--resistances");
    std::size_t predicted = 0;
    const auto plan = test::json_of(test::isthmus(command));
    for (const auto& step : plan["step_list"]) {
      if (!step.contains("predicted_ohm")) continue;
      ++predicted;
      EXPECT_EQ(step["kind"], "continuity");
      EXPECT_NEAR(step["predicted_ohm"].get<double>(), 0.0345, 0.002);
    }
    EXPECT_EQ(predicted > 0, asked);
  }
}

}  // namespace
}  // namespace isthmus
