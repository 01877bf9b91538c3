// SPDX-License-Identifier: Apache-2.0
// Waivers of entries in whole runs: HALYARD runs from pad A.1 on top to a plated hole at [10, 0] and
// on the bottom to what the test lays there; STAY runs beside it on top, D.1 to D.2; TELL is a lone
// pad beside STAY.
#include <gtest/gtest.h>

#include <cstdio>

#include "tests/pipeline/programs.hpp"

namespace isthmus {
namespace {

using nlohmann::json;

class Waivers : public ::testing::Test {
 protected:
  void SetUp() override {
    test::write(
        folder_ / "top.gbr",
        kHead + std::string("X0Y0D03*\nX10000000Y0D03*\nX0Y1000000D03*\nX10000000Y1000000D03*\n"
                            "X5000000Y2000000D03*\nD11*\nX0Y0D02*\nX10000000Y0D01*\n"
                            "X0Y1000000D02*\nX10000000Y1000000D01*\nM02*\n"));
    test::write(folder_ / "holes.drl", "M48\nMETRIC\nT1C0.300\n%\nT1\nX10.0Y0.0\nM30\n");
    test::write(folder_ / "n.d356", "P  UNITS CUST 1\n" + record("327HALYARD", "A", '1', 1, 0, 0) +
                                        record("317HALYARD", "VIA", ' ', 0, 10000, 0) +
                                        record("327STAY", "D", '1', 1, 0, 1000) +
                                        record("327STAY", "D", '2', 1, 10000, 1000) +
                                        record("327TELL", "E", '1', 1, 5000, 2000) + "999\n");
  }
  static std::string record(const char* net, const char* ref, char pin, int access, int x, int y) {
    char text[100];
    std::snprintf(text, sizeof text, "%-17s   %-6s%c%-4c %sA%02dX%+07dY%+07dX0800Y0000\n", net, ref,
                  pin == ' ' ? ' ' : '-', pin, net[1] == '1' ? "D0300P" : "      ", access, x, y);
    return text;
  }
  // `below` is drawn on the bottom; `waive` a list in YAML.
  test::Ran measure(const std::string& below, const std::string& waive,
                    const std::string& placement, const std::string& bench = "") const {
    test::write(folder_ / "bottom.gbr", kHead + below + "M02*\n");
    test::write(folder_ / "board.yaml",
                "isthmus: 1\nname: mast\nartwork: {top: top.gbr, bottom: bottom.gbr}\nholes: "
                "[{file: holes.drl, plated: true}]\nnetlist: n.d356\nstage: joined\njoins: all\n"
                "limits: {excess: 0.2 ohm}\nwaive: " +
                    waive + "\n");
    const bool check = placement.find("twin") == std::string::npos;
    test::write(folder_ / "f.yaml", std::string("isthmus: 1\nchannels: 8\ncontact-check: ") +
                                        (check ? "true" : "false") +
                                        "\nplacements:\n  - {name: A, " + placement + "}\n");
    test::write(
        folder_ / "bench.yaml",
        "isthmus: 1\nboard: board.yaml\nchannels: 8\nadapter: {contact-check: true}\n" + bench);
    return test::isthmus({"test", folder_ / "board.yaml", "--fixture", folder_ / "f.yaml",
                          "--adapter", "sim:" + (folder_ / "bench.yaml").string(), "--record",
                          folder_ / "r.db", "--json"});
  }
  // What stands beside the verdict; the record says the same.
  void expect_waived(const test::Ran& ran, const json& waived) const {
    const json run = test::json_of(ran);
    EXPECT_EQ(run["waived"], waived);
    const std::string number = std::to_string(run["run"].get<int>());
    const test::Ran again =
        test::isthmus({"report", number, "--record", folder_ / "r.db", "--json"});
    EXPECT_EQ(test::json_of(again)["waived"], waived);
    const test::Ran text = test::isthmus({"report", number, "--record", folder_ / "r.db"});
    EXPECT_NE(text.out.find(waived.back()["point"].get<std::string>()), std::string::npos)
        << text.out;
  }
  // Incomplete, and all that is missing are these kinds of entries.
  static void expect_unknown(const test::Ran& ran, const std::vector<std::string>& kinds) {
    EXPECT_EQ(ran.code, 4) << ran.out.substr(0, 1500) << ran.err;
    std::vector<std::string> found;
    const json told = test::json_of(ran);
    for (const json& entry : told["cannot_tell"]) found.push_back(entry["what"]);
    EXPECT_EQ(found, kinds);
  }

  static constexpr const char* kHead =
      "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.8*%\n%ADD11C,0.3*%\nG01*\nD10*\n";
  test::Folder folder_;
};

// A pour of 6 by 6 mm round the hole; no probe reaches the bottom.
const std::string kPour =
    "G36*\nX7000000Y-3000000D02*\nX13000000Y-3000000D01*\nX13000000Y3000000D01*\n"
    "X7000000Y3000000D01*\nX7000000Y-3000000D01*\nG37*\n";
// A track from the hole to a pad that the netlist does not name.
const std::string kTail =
    "X10000000Y0D03*\nX20000000Y0D03*\nD11*\nX10000000Y0D02*\nX20000000Y0D01*\n";
constexpr const char* kTop =
    "side: top, probes: {1: A.1, 2: D.1, 3: D.2, 4: E.1, 5: \"VIA@10.000,0.000\"}";
constexpr const char* kBehind =
    "side: top, probes: {1: A.1, 2: D.1, 3: D.2, 4: E.1}, clips: {5: \"VIA@10.000,0.000\"}";
constexpr const char* kNoBarrel = "defects: [{kind: no-join, at: [10, 0]}]\n";

TEST_F(Waivers, OfAJoinLetAGoodBoardPassAndNameWhatCouldHide) {
  expect_unknown(measure(kPour, "[]", kTop), {"join"});
  const std::string waive = "[{join: [10, 0], why: seen under the glass}]";
  const json named = json::parse(
      R"([{"point": "join @10.000,0.000", "net": "HALYARD", "why": "seen under the glass"}])");
  for (const char* bench : {"", kNoBarrel}) {
    const test::Ran ran = measure(kPour, waive, kTop, bench);
    EXPECT_EQ(ran.code, 0) << bench << ran.out.substr(0, 1500) << ran.err;
    EXPECT_EQ(test::json_of(ran)["possible_faults"]["breaks"]["waived"], 1);
    expect_waived(ran, named);
  }
}

TEST_F(Waivers, OfAJoinDoNotHideWhatAReadingFinds) {
  const test::Ran ran = measure(kPour, "[{join: [10, 0], why: seen}]", kBehind, kNoBarrel);
  EXPECT_EQ(ran.code, 1) << ran.err;
  EXPECT_EQ(test::json_of(ran)["findings"].size(), 1u);
  EXPECT_EQ(test::json_of(ran)["possible_faults"]["breaks"]["waived"], 0);
}

TEST_F(Waivers, OfCopperLetAGoodBoardPassAndNameWhatCouldHide) {
  expect_unknown(measure(kTail, "[]", kBehind), {"stretch"});
  const std::string waive = "[{copper: [15, 0], side: bottom, why: a test strip}]";
  const json named = json::parse(
      R"([{"point": "copper @15.000,0.000 bottom", "net": "HALYARD", "why": "a test strip"}])");
  for (const char* bench :
       {"", "defects: [{kind: open, at: [15, 0], side: bottom, diameter: 0.6}]\n"}) {
    const test::Ran ran = measure(kTail, waive, kBehind, bench);
    EXPECT_EQ(ran.code, 0) << bench << ran.out.substr(0, 1500) << ran.err;
    EXPECT_EQ(test::json_of(ran)["possible_faults"]["breaks"]["waived"], 1);
    expect_waived(ran, named);
  }
}

TEST_F(Waivers, OfAPairOrOfAllPointsOfANetLetAGoodBoardPassAndAreCounted) {
  // Nothing touches TELL: its only point is waived, so that STAY could be bridged to it.
  const std::string plate = "side: top, probes: {1: A.1, 2: D.1, 3: D.2, 4: \"VIA@10.000,0.000\"}";
  const std::string point = "{point: E.1, why: under the label}";
  const test::Ran alone = measure("", "[" + point + "]", plate);
  EXPECT_EQ(alone.code, 0) << alone.out.substr(0, 1500) << alone.err;
  EXPECT_EQ(test::json_of(alone)["possible_faults"]["bridges"]["waived"], 1);
  // What the waiver costs is named, not the point alone.
  EXPECT_NE(alone.out.find("not looked for, as waived: bridges between STAY and TELL"),
            std::string::npos)
      << alone.out.substr(0, 1500);
  const std::string waive = "[" + point + ", {pair: [TELL, STAY], why: seen}]";
  const json named = json::parse(R"([{"point": "E.1", "net": "TELL", "why": "under the label"},
                                     {"point": "pair TELL and STAY", "net": "TELL, STAY", "why": "seen"}])");
  for (const char* bench :
       {"", "defects: [{kind: bridge, from: [5, 1], to: [5, 2], side: top, width: 0.2}]\n"}) {
    const test::Ran ran = measure("", waive, plate, bench);
    EXPECT_EQ(ran.code, 0) << bench << ran.out.substr(0, 1500) << ran.err;
    EXPECT_EQ(test::json_of(ran)["possible_faults"]["bridges"]["waived"], 1);
    expect_waived(ran, named);
  }
}

TEST_F(Waivers, OfAPairDoNotHideWhatAReadingFinds) {
  const test::Ran ran =
      measure("", "[{pair: [TELL, STAY], why: seen}]", kTop,
              "defects: [{kind: bridge, from: [5, 1], to: [5, 2], side: top, width: 0.2}]\n");
  EXPECT_EQ(ran.code, 1) << ran.err;
  EXPECT_EQ(test::json_of(ran)["findings"].size(), 1u);
}

TEST_F(Waivers, ThatNameNothingAreRefusedAtTheirPlace) {
  const test::Ran ran = measure(kTail, "[{copper: [15, 1], side: bottom, why: typing}]", kTop);
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find("board.yaml:9:9: error EXP-002"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("[15.000, 0.150]"), std::string::npos) << ran.err;
}

TEST_F(Waivers, AreNeitherAskedForByTheFixtureNorListedByThePlan) {
  const std::string waive =
      "[{join: [10, 0], why: seen}, {copper: [15, 0], side: bottom, why: seen}]";
  (void)measure(kTail, waive, kTop);
  const auto made = test::isthmus({"fixture", folder_ / "board.yaml", "--channels", "8",
                                   "--contact-check", "--out", folder_ / "made.yaml"});
  EXPECT_EQ(made.code, 0) << made.err;
  EXPECT_EQ(test::read(folder_ / "made.yaml").find("clips"), std::string::npos);
  const auto plan = [&](const std::string& list) {
    (void)measure(kTail, list, kTop);
    return test::json_of(test::isthmus(
        {"plan", folder_ / "board.yaml", "--fixture", folder_ / "f.yaml", "--json"}))["untested"];
  };
  EXPECT_FALSE(plan("[]").empty());
  EXPECT_EQ(plan(waive), json::array());
}

}  // namespace
}  // namespace isthmus
