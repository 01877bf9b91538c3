// SPDX-License-Identifier: Apache-2.0
// The JSON fields are those other programs script against; the rest is what a person must be told.
#include "isthmus/report/report.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "tests/expect/piece_board.hpp"
#include "tests/report/faulty_run.hpp"

namespace isthmus::report {
namespace {

using nlohmann::json;

class OnSmallBoard : public ::testing::Test {
 protected:
  static void SetUpTestSuite() { small_ = new test::SmallBoard; }
  static void TearDownTestSuite() {
    delete small_;
    small_ = nullptr;
  }
  static const expect::Board& board() { return small_->board(); }
  static plan::Plan plan_for(int channels) { return test::small_plan(board(), channels); }
  static RunView faulty() { return test::faulty_run(board()); }

 private:
  static inline test::SmallBoard* small_ = nullptr;
};

TEST_F(OnSmallBoard, RunJsonHasTheFieldsOfTheContract) {
  const json j = json::parse(run_json(faulty()));
  for (const char* key : {"verdict", "board", "unit", "stage", "placements", "measurements",
                          "seconds", "findings", "untested", "coverage", "basis", "limits"}) {
    EXPECT_TRUE(j.contains(key)) << key;
  }
  EXPECT_EQ(j["verdict"], "fail");
  EXPECT_EQ(j["findings"].size(), 2u);
  const json& open = j["findings"][0];
  EXPECT_EQ(open["kind"], "open");
  EXPECT_EQ(open["nets"], json({"ALPHA"}));
  EXPECT_EQ(open["parts"], json::parse(R"([["U1.1","U2.1"],["U3.1"]])"));
  EXPECT_EQ(open["measured_ohm"], 1e37);
  EXPECT_EQ(open["limit_ohm"], 10.0);
  const json& suspect = open["suspects"][0];
  for (const char* key : {"rank", "x_mm", "y_mm", "side", "likelihood", "path", "why", "separates"})
    EXPECT_TRUE(suspect.contains(key)) << key;
  EXPECT_EQ(j["findings"][1]["suspects"][0]["nets"], json({"DELTA", "ECHO"}));
  EXPECT_EQ(j["untested"][0]["why"], "no-contact");
  EXPECT_EQ(j["limits"]["isolation_ohm"], 1e7);
}

TEST_F(OnSmallBoard, LikelihoodsOfAFindingNeverExceedOne) {
  const json j = json::parse(run_json(faulty()));
  for (const json& finding : j["findings"]) {
    double sum = 0;
    for (const json& s : finding["suspects"]) sum += s["likelihood"].get<double>();
    EXPECT_LE(sum, 1.001);
    EXPECT_GT(sum, 0.5);
  }
}

TEST_F(OnSmallBoard, InspectJsonGivesOneSidedPointsAnIslandAndHolesTwo) {
  const json j = json::parse(inspect_json(board(), {}));
  std::size_t both = 0;
  for (const json& p : j["points"]) {
    if (p["side"] != "both") {
      EXPECT_TRUE(p["island"].is_number()) << p;
      continue;
    }
    ++both;
    EXPECT_TRUE(p["island"].is_null());
    EXPECT_TRUE(p["islands"].contains("top") && p["islands"].contains("bottom")) << p;
  }
  EXPECT_EQ(both, 2u);
  EXPECT_TRUE(j["disagreements"].empty());
}

// Two nets at one hole each, one at two, one without.
TEST(Inspect, TheUncutSideIsAGroupThatBurrsReach) {
  test::LittleBoard little;
  little.through("A", "J1", "1", 0, 0, std::nullopt).through("B", "J2", "1", 20, 0, std::nullopt);
  little.through("A", "J1", "2", 0, 20, std::nullopt).surface("C", "R1", "1", 10, 0);
  little.through("B", "J2", "2", 2.4, 20, std::nullopt);  // 0.8 mm beside J1.2, on both sides
  little.track(0, 0, 0, 0, 20, 0.4).track(1, 0, 0, 0, 20, 0.3);
  little.stage(Stage::etched_top);
  const auto board = test::whole(std::move(little));
  const json j = json::parse(inspect_json(*board, {}));
  const std::size_t points = board->expectation.groups.size();
  ASSERT_EQ(j["groups"].size(), points + 1);
  EXPECT_EQ(
      j["groups"].back(),
      json({{"id", points}, {"net", "#bottom"}, {"points", json::array()}, {"uncut", "bottom"}}));
  ASSERT_EQ(j["burrs"].size(), 4u);
  for (const json& gap : j["gaps"]) EXPECT_EQ(gap["side"], "top") << gap;
  for (const json& neck : j["necks"]) EXPECT_EQ(neck["side"], "top") << neck;
  EXPECT_EQ(j["gaps"].size(), 1u);  // as drawn, there is one on each side
  EXPECT_FALSE(j["necks"].empty());
  EXPECT_EQ(
      j["burrs"][1],
      json({{"net", "B"}, {"group", points}, {"x_mm", 20.0}, {"y_mm", 0.0}, {"diameter_mm", 0.8}}));
  EXPECT_NE(inspect_text(*board, {}, {})
                .find("4 islands on 1 of 2 copper layers\n"
                      "the bottom is still one sheet of copper, a group of its "
                      "own; a burr could reach it in 4 holes of 2 nets\n"),
            std::string::npos)
      << inspect_text(*board, {}, {});
}

// Edge to edge of the 0.5 mm pads in rows 1 mm apart.
TEST_F(OnSmallBoard, InspectJsonListsEachPairOfNetsOnceAscending) {
  const json gaps = json::parse(inspect_json(board(), {}))["gaps"];
  ASSERT_FALSE(gaps.empty());
  EXPECT_NEAR(gaps[0]["gap_mm"].get<double>(), 0.5, 0.003);
  std::set<std::string> seen;
  double last = 0;
  for (const json& g : gaps) {
    EXPECT_TRUE(seen.insert(g["nets"].dump() + g["side"].dump()).second) << g;
    EXPECT_GE(g["gap_mm"].get<double>(), last);
    last = g["gap_mm"];
  }
}

// IEC 60028: 17.241 nohm m; 0.27 mm (0.3 less 2 x 15 um undercut) by 35 um; from the edge of one
// electrode of 0.5 mm to the edge of the other 9.5 mm, and where the track's edges meet the discs
// 9.58 mm. From middle to middle it would be 18.2 mohm.
TEST_F(OnSmallBoard, PredictedResistanceIsThatOfTheTrack) {
  copper::Field field(board().copper, expect::conducting_barrels(board()),
                      expect::foil_of(board()));
  const auto a = expect::find_point(board().expectation, "U1.5", std::nullopt);
  const auto b = expect::find_point(board().expectation, "U2.5", std::nullopt);
  ASSERT_TRUE(a && b);
  const auto r = field.between(*expect::electrode_at(board(), *a, Side::top, 500_um),
                               *expect::electrode_at(board(), *b, Side::top, 500_um));
  ASSERT_TRUE(r);
  const auto track = [](double length) { return 17.241e-9 * length / (0.27e-3 * 35e-6); };
  EXPECT_GT(r->ohms.value, 0.995 * track(9.5e-3));
  EXPECT_LT(r->ohms.value, 1.005 * track(9.58e-3));
}

TEST_F(OnSmallBoard, AForetoldResistanceSaysWhatTouches) {
  Foretold foretold;
  foretold.tip = 300_um;
  foretold.between = Between{"U1.5", "U2.5", copper::Predicted{Ohms{0.0182}, Ohms{0.004}, {}, 0}};
  const std::string text = inspect_text(board(), foretold, {});
  EXPECT_TRUE(text.ends_with("U1.5 to U2.5: 18.2 mohm (+- 4 mohm) between tips of 0.30 mm\n"))
      << text;
  EXPECT_EQ(json::parse(inspect_json(board(), foretold))["tip_mm"], 0.3);
  EXPECT_FALSE(json::parse(inspect_json(board(), {})).contains("tip_mm"));
}

TEST_F(OnSmallBoard, PlanJsonHasTheFieldsOfTheContract) {
  const plan::Plan plan = plan_for(8);
  const json j = json::parse(plan_json(board(), plan));
  for (const char* key : {"placements", "placements_bound", "bound_reason", "steps", "continuity",
                          "isolation", "contact", "placement_list", "step_list", "untested"}) {
    EXPECT_TRUE(j.contains(key)) << key;
  }
  EXPECT_EQ(j["placement_list"].size(), j["placements"].get<std::size_t>());
  EXPECT_EQ(j["step_list"].size(), j["steps"].get<std::size_t>());
  EXPECT_GE(j["continuity"]["steps"], j["continuity"]["bound"]);
  for (const json& s : j["step_list"]) {
    for (const char* key : {"id", "placement", "kind", "source", "return", "groups", "limit_ohm"})
      EXPECT_TRUE(s.contains(key)) << key;
  }
}

TEST_F(OnSmallBoard, TextTellsWhereToLook) {
  const std::string text = run_text(faulty(), {});
  for (const char* words : {"FAIL", "OPEN  net ALPHA", "BRIDGE  DELTA and ECHO", "look here",
                            "mm top", "Not tested", "clean the pad"}) {
    EXPECT_NE(text.find(words), std::string::npos) << words << "\n" << text;
  }
  EXPECT_EQ(text.find("\033["), std::string::npos);
  EXPECT_NE(run_text(faulty(), {true, false}).find("\033["), std::string::npos);
}

TEST_F(OnSmallBoard, TheVerdictLineCountsPointsAndPossibleFaults) {
  RunView view = faulty();
  diagnose::Diagnosis& d = view.result.diagnosis;
  d.findings.clear();
  d.untested.clear();
  d.cannot_tell.clear();
  d.verdict = diagnose::Verdict::pass;
  d.coverage = {251, 251, 0, 271, 271, 2357};
  d.breaks = {413, 410, 3, 0, 0, 0, 17};
  d.bridges = {271, 271, 0, 0, 0, 0};
  d.parallel_joins = 3;
  const std::string counts =
      "251 of 251 points tested; 413 possible breaks and 271 possible bridges within 1.27 mm (3.00 "
      "mm round joins made by hand): all excluded (17 of the breaks unless bridged within their "
      "own "
      "or a tied net); 3 joins lie parallel to others; 2357 farther pairs not tested";
  EXPECT_NE(run_text(view, {}).find("PASS  " + counts + "\n"), std::string::npos)
      << run_text(view, {});
  EXPECT_NE(run_html(view, board()).find(counts), std::string::npos);
  const json coverage = json::parse(run_json(view))["coverage"];
  EXPECT_EQ(coverage, json::parse(R"({"required":251,"tested":251,"waived":0,"pairs_required":271,
      "pairs_tested":271,"pairs_beyond_window":2357})"));
  EXPECT_EQ(json::parse(run_json(view))["possible_faults"]["breaks"]["unless_bridged"], 17);
  view.head.basis = "artwork";
  EXPECT_NE(
      run_text(view, {}).find("PASS  matches its artwork; the design was not checked; 251 of 251"),
      std::string::npos);
}

// Of R4.1 only one side has copper; of J1.1 both, and the two ends of J2.1 are two places.
TEST_F(OnSmallBoard, WhatWouldTellNamesTheSideWhereThereAreTwo) {
  RunView view = faulty();
  diagnose::Diagnosis& d = view.result.diagnosis;
  d.findings.clear();
  diagnose::CannotTell c;
  c.nets = {"DELTA"};
  c.side = "both";
  c.would_tell = {"R4.1", "J1.1"};
  c.from = {{Side::top, false}, {Side::bottom, true}};
  d.cannot_tell = {c};
  c.would_tell = {"J2.1", "J2.1"};
  c.from = {{Side::top, true}, {Side::bottom, true}};
  d.cannot_tell.push_back(c);
  c.from = {{Side::top, true}, {Side::top, true}};
  d.cannot_tell.push_back(c);
  const auto says = [](const std::string& text, const std::string& words) {
    EXPECT_NE(text.find(words), std::string::npos) << words << "\n" << text.substr(0, 900);
  };
  const std::string text = run_text(view, {}), page = run_html(view, board());
  for (const std::string& said : {text, page}) {
    says(said, "touch R4.1 and J1.1 (bottom) at once");
    says(said, "touch J2.1 (top) and J2.1 (bottom) at once");
  }
  says(text, "touch J2.1 (top)  (");
  says(page, "touch J2.1 (top)<");
  says(page, "<h2>Cannot be told (3 breaks)</h2>");
  EXPECT_EQ(json::parse(run_json(view))["cannot_tell"][0]["would_tell_sides"],
            json::parse(R"(["top","bottom"])"));
}

TEST_F(OnSmallBoard, WaivedPointsStandBesideTheVerdictWithTheirReasons) {
  RunView view = faulty();
  view.result.diagnosis.waived = {{"TP3", "GND", "under the label"}};
  EXPECT_NE(run_text(view, {}).find("GND: TP3  (under the label)"), std::string::npos);
  EXPECT_NE(run_html(view, board()).find("under the label"), std::string::npos);
  EXPECT_EQ(json::parse(run_json(view))["waived"],
            json::parse(R"([{"point":"TP3","net":"GND","why":"under the label"}])"));
}

TEST_F(OnSmallBoard, ARunThatBrokeOffHasNoVerdictAndEndsWithTheReason) {
  const plan::Plan plan = plan_for(64);
  RunView view;
  view.result.state = "broken off";
  view.result.problem = "there are 3.00 V of its own on the board";
  view.result.diagnosis = diagnose::diagnose(board(), plan, {}, false);
  const std::string text = run_text(view, {});
  EXPECT_NE(text.find("NO VERDICT  the run broke off: there are 3.00 V"), std::string::npos)
      << text;
  EXPECT_TRUE(text.ends_with("the run broke off: there are 3.00 V of its own on the board\n"));
  EXPECT_EQ(text.find("nothing wrong found"), std::string::npos);
  EXPECT_NE(text.find("more  (the run did not get there)"), std::string::npos) << text;
  const json j = json::parse(run_json(view));
  std::size_t points = 0;
  for (const json& u : j["untested"]) points += u["points"].size();
  EXPECT_EQ(points, j["coverage"]["required"]);  // the text is short, nothing is lost here
  EXPECT_EQ(j["verdict"], "incomplete");
}

TEST_F(OnSmallBoard, AFixtureThatCanNeverPassIsSaidSoWithThePlan) {
  Diagnostics notes;
  const auto few = plan::make_fixture(board(), {2, false}, notes);
  ASSERT_TRUE(few);
  const auto shortfall = plan::shortfall_of(board(), *few);
  ASSERT_TRUE(shortfall);
  EXPECT_EQ(shortfall->pairs, board().expectation.pairs.size());
  EXPECT_NE(what_helps(*shortfall).find("--channels 4 or more"), std::string::npos);
  const auto plan = test::foretold_plan(board(), *few, {4, {10.0}}, notes);
  ASSERT_TRUE(plan);
  EXPECT_NE(plan_text(board(), *plan, {}).find("no run with this fixture can pass"),
            std::string::npos);
  const auto enough = plan::make_fixture(board(), {4, false}, notes);
  ASSERT_TRUE(enough);
  EXPECT_FALSE(plan::shortfall_of(board(), *enough)->any());
  EXPECT_EQ(plan_text(board(), plan_for(64), {}).find("can pass"), std::string::npos);
}

// A length of the text; in inches the same text, each length the same to its last digit.
TEST_F(OnSmallBoard, InchChangesTheLengthsOfTheTextAlone) {
  const std::string mm = run_text(faulty(), {false, false}),
                    inch = run_text(faulty(), {false, true});
  static const std::regex length("(-?[0-9]+[.][0-9]+)(, (-?[0-9]+[.][0-9]+))?(\\)?) (mm|in)\\b");
  EXPECT_EQ(std::regex_replace(mm, length, "LENGTH"), std::regex_replace(inch, length, "LENGTH"));
  const std::sregex_iterator end;
  std::size_t inches = 0;
  for (std::sregex_iterator a(mm.begin(), mm.end(), length), b(inch.begin(), inch.end(), length);
       a != end && b != end; ++a, ++b) {
    if ((*a)[0] == (*b)[0]) continue;  // words of the diagnosis are in mm
    ++inches;
    EXPECT_EQ((*a)[5], "mm");
    EXPECT_EQ((*b)[5], "in");
    EXPECT_NEAR(std::stod((*a)[1]), 25.4 * std::stod((*b)[1]), 0.01) << (*a)[0];
  }
  EXPECT_GT(inches, 3u);
}

TEST_F(OnSmallBoard, ThePageIsOneFileAndEscapesWhatItShows) {
  const std::string page = run_html(faulty(), board());
  EXPECT_NE(page.find("small &lt;board&gt; &amp; &quot;co&quot;"), std::string::npos);
  for (const char* outside : {"http:", "https:", "<link", "src=", "@import", "url("})
    EXPECT_EQ(page.find(outside), std::string::npos) << outside;
  EXPECT_NE(page.find("default-src 'none'"), std::string::npos);
  EXPECT_NE(page.find("mirrored"), std::string::npos);
  EXPECT_NE(page.find("close-up of place 1\""), std::string::npos);
}

// The side of each close-up in mm, of the finding's suspects in order.
std::vector<double> widths_of_closeups(const std::string& page) {
  static const std::regex width("\u00d7, ([0-9.]+) mm across");
  std::vector<double> widths;
  for (std::sregex_iterator it(page.begin(), page.end(), width), last; it != last; ++it)
    widths.push_back(std::stod((*it)[1]));
  return widths;
}

TEST_F(OnSmallBoard, ACloseUpHoldsTheWholeStretchToLookAlong) {
  RunView view = faulty();
  auto& suspects = view.result.diagnosis.findings.at(0).suspects;
  ASSERT_FALSE(suspects.empty());
  suspects.resize(1);
  view.result.diagnosis.findings.resize(1);
  suspects[0].at = position_mm(20, 5);
  suspects[0].path = {position_mm(10, 5), position_mm(33, 5)};
  const auto widths = widths_of_closeups(run_html(view, board()));
  ASSERT_EQ(widths.size(), 1U);
  EXPECT_DOUBLE_EQ(widths[0], 25);  // 23 mm of path, 1 mm at each end
}

TEST_F(OnSmallBoard, ASmallShareIsNotCalledNone) {
  RunView view = faulty();
  view.result.diagnosis.findings.at(0).suspects.at(0).likelihood = 0.004;
  EXPECT_NE(run_html(view, board()).find("&lt; 1 %"), std::string::npos);
  EXPECT_NE(run_text(view, {}).find("< 1 %"), std::string::npos);
}

TEST_F(OnSmallBoard, CsvWritesAnOpenAsAWordThatNoSumTakes) {
  const std::string csv = findings_csv(faulty());
  EXPECT_NE(csv.find(",over-range,"), std::string::npos);
  EXPECT_EQ(csv.find("1e37"), std::string::npos);
  EXPECT_EQ(csv.find("1e+37"), std::string::npos);
}

TEST_F(OnSmallBoard, TheStepsOfAPlanAddUp) {
  const plan::Plan plan = plan_for(64);
  const std::string text = plan_text(board(), plan, {});
  const std::size_t begin = text.find(" steps: "), end = text.find('\n', begin);
  std::string line = text.substr(begin, end - begin);
  line = std::regex_replace(line, std::regex("\\(bound [0-9]+\\)|for [0-9]+ pairs"), "");
  std::size_t sum = 0;
  static const std::regex number("[0-9]+");
  for (std::sregex_iterator it(line.begin(), line.end(), number), last; it != last; ++it)
    sum += std::stoul(it->str());
  EXPECT_EQ(sum, plan.steps.size()) << line;
}

// Others script against it: columns are added at the end alone.
TEST_F(OnSmallBoard, CsvHasItsColumnsInThisOrder) {
  const std::string csv = findings_csv(faulty());
  EXPECT_EQ(
      csv.substr(0, csv.find('\n') + 1),
      "finding,kind,nets,parts,measured_ohm,limit_ohm,rank,x_mm,y_mm,side,likelihood,why\r\n");
}

TEST_F(OnSmallBoard, CsvHasALineForEachSuspect) {
  const RunView view = faulty();
  std::size_t suspects = 0;
  for (const auto& f : view.result.diagnosis.findings) suspects += f.suspects.size();
  const std::string csv = findings_csv(view);
  EXPECT_EQ(static_cast<std::size_t>(std::ranges::count(csv, '\n')), suspects + 1);
}

TEST_F(OnSmallBoard, FixtureSheetIsDrawnAtItsTrueSize) {
  Diagnostics notes;
  auto fixture = plan::make_fixture(board(), {64, true}, notes);
  ASSERT_TRUE(fixture);
  const auto placements = plan::placements_of(board(), *fixture, notes);
  ASSERT_TRUE(placements);
  const std::string sheet =
      fixture_sheet_svg(board(), fixture->tip_diameter, placements->at(0), Side::top, {});
  const auto width = sheet.find("width=\"") + 7, box = sheet.find("viewBox=\"0 0 ") + 13;
  EXPECT_EQ(sheet.substr(width, sheet.find("mm\"", width) - width),
            sheet.substr(box, sheet.find(' ', box) - box));
  EXPECT_NE(sheet.find("h100"), std::string::npos);
  for (const auto& [channel, probe] : fixture->placements[0].probes)
    EXPECT_NE(sheet.find(">" + probe.point + "<"), std::string::npos) << channel;
}

// What the fixture below says; places as the small board is drawn.
class WithClips : public OnSmallBoard {
 protected:
  static plan::Placement placement() {
    const plan::Plan p = plan();
    return p.placements[0];
  }
  static plan::Plan plan(Side side = Side::top) {
    formats::FixtureFile f;
    f.channels = 8;
    f.placements = {{"C", side, {}, {}}};
    auto& probes = f.placements[0].probes;
    probes[1].point = "U1.4";
    probes[2].point = "U1.1";
    probes[7].point = "VIA@12.000,6.000";
    probes[7].side = Side::bottom;
    probes[7].clip = side == Side::top;
    Diagnostics notes;
    auto made = test::foretold_plan(board(), f, {4, {10.0}}, notes);
    EXPECT_TRUE(made) << format(made.problem());
    return *made;
  }
  static json first_placement(const plan::Plan& p) {
    return json::parse(plan_json(board(), p))["placement_list"][0];
  }
  static std::size_t circles(const std::string& svg) {
    std::size_t n = 0;
    for (std::size_t at = 0; (at = svg.find("<circle class=\"tip\"", at)) != svg.npos; ++at) ++n;
    return n;
  }
};

TEST_F(WithClips, PlanJsonSaysTheSideOfEachChannelAndWhichAreClips) {
  const json c = first_placement(plan());
  EXPECT_EQ(c["side"], "top");
  EXPECT_EQ(c["probes"], json({{"1", "U1.4"}, {"2", "U1.1"}, {"7", "VIA@12.000,6.000"}}));
  EXPECT_EQ(c["probe_sides"], json({{"1", "top"}, {"2", "top"}, {"7", "bottom"}}));
  EXPECT_EQ(c["clips"], json({7}));
  const json both = first_placement(plan(Side::both));
  EXPECT_EQ(both["side"], "both");
  EXPECT_EQ(both["probe_sides"]["7"], "bottom");
  EXPECT_EQ(both["clips"], json::array());
}

TEST_F(WithClips, PlanTextNamesTheClipsAndTheirSide) {
  const std::string text = plan_text(board(), plan(), {});
  EXPECT_NE(text.find("placement C (top side, 2 probes, 1 clip)"), text.npos) << text;
  EXPECT_NE(text.find("7  VIA@12.000,6.000 (12.00, 6.00) mm  clip, bottom\n"), text.npos) << text;
  const std::string both = plan_text(board(), plan(Side::both), {});
  EXPECT_NE(both.find("placement C (both sides, 3 probes)"), both.npos) << both;
  EXPECT_NE(both.find("(12.00, 6.00) mm  bottom\n"), both.npos) << both;
}

TEST_F(WithClips, TheSheetListsClipsAndDrawsThePlatesProbesAlone) {
  const std::string sheet = fixture_sheet_svg(board(), 500_um, placement(), Side::top, {});
  EXPECT_EQ(circles(sheet), 2u);
  EXPECT_NE(sheet.find(">7 on VIA@12.000,6.000 (bottom, 12.000, 6.000 mm)<"), sheet.npos);
  EXPECT_NE(sheet.find("top side, 2 probes"), sheet.npos);
}

TEST_F(WithClips, TwoPlatesHaveASheetEach) {
  const plan::Plan both = plan(Side::both);
  const auto sheet = [&](Side side) {
    return fixture_sheet_svg(board(), 500_um, both.placements[0], side, {});
  };
  EXPECT_EQ(circles(sheet(Side::top)), 2u);
  EXPECT_EQ(circles(sheet(Side::bottom)), 1u);
  EXPECT_NE(sheet(Side::bottom).find("bottom side, MIRRORED"), std::string::npos);
}

}  // namespace
}  // namespace isthmus::report
