// SPDX-License-Identifier: Apache-2.0
// Places from the board's corner and beside a pad, by hand from the drawing of a board of 30 by 20 mm
// whose artwork begins at (90, -160) mm; and what is said of a simulated bench.
#include "report/places.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "report/nets.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::report {
namespace {

Places far_away() {
  Places places;
  places.outline = {position_mm(90, -160), position_mm(120, -140)};
  places.pads = {{position_mm(91, -153.3), Side::top, "R1.1"},
                 {position_mm(95, -153.3), Side::bottom, "R2.1"}};
  return places;
}

RunView open_at(const std::string& side) {
  RunView view;
  view.result.state = "done";
  view.places = far_away();
  diagnose::Finding f;
  f.nets = {"SCL"};
  f.parts = {{"R1.1"}, {"R2.1"}};
  f.measured = Ohms{1e37};
  diagnose::Suspect s;
  s.rank = 1;
  s.at = position_mm(90.92, -153.3);
  s.path = {s.at};
  s.side = side;
  s.likelihood = 1;
  s.why = "a break";
  f.suspects = {s};
  view.result.diagnosis.findings = {f};
  view.result.diagnosis.verdict = diagnose::Verdict::fail;
  return view;
}

std::string finding_in(const std::string& text) {
  const std::size_t begin = text.find("look here:\n") + 11, end = text.find("\n\n", begin);
  return text.substr(begin, end - begin);
}

TEST(Places, TheBottomIsCountedFromItsOwnLowerLeftCorner) {
  const Places places = far_away();
  const Position p = position_mm(90.92, -153.3);
  EXPECT_EQ(from_corner(places, p, "top"), position_mm(0.92, 6.7));
  EXPECT_EQ(from_corner(places, p, "both"), position_mm(0.92, 6.7));
  EXPECT_EQ(from_corner(places, p, "bottom"), position_mm(29.08, 6.7));
}

TEST(Places, APadThatTheSideShowsIsNearerToTheEye) {
  const Places places = far_away();
  const Position p = position_mm(90.92, -153.3);
  EXPECT_EQ(nearest_pad(places, p, "top").pad->id, "R1.1");
  EXPECT_EQ(nearest_pad(places, p, "bottom").pad->id, "R2.1");
  EXPECT_TRUE(nearest_pad(places, p, "bottom").same_side);
  EXPECT_EQ(nearest_pad(places, position_mm(94, -153.3), "both").pad->id, "R2.1");
  EXPECT_EQ(nearest_pad(Places{}, p, "top").pad, nullptr);
}

TEST(Places, BeyondFiveMillimetresThePadOfTheOtherSideIsNamed) {
  const auto mm = [](double nm) { return std::to_string(std::lround(nm * 1e-6)) + " mm"; };
  const Places places = far_away();
  EXPECT_EQ(near_in_words(places, position_mm(91, -154.3), "bottom", mm), "R2.1 (4 mm)");
  EXPECT_EQ(near_in_words(places, position_mm(89, -153.3), "bottom", mm), "R1.1 on the top (2 mm)");
  EXPECT_EQ(near_in_words(places, position_mm(109, -153.3), "bottom", mm), "R2.1 (14 mm)");
}

// 35 by 24 mm, drawn with a line of 0.1 mm.
TEST(Places, TheCornerLiesInTheMiddleOfTheOutlinesLine) {
  const test::SmallBoard small;
  expect::Board board = small.board();
  board.design.outline.emplace();
  formats::Object line;
  line.kind = formats::ObjectKind::stroke;
  line.width = 100_um;
  line.spine = {position_mm(3, 4), position_mm(38, 4), position_mm(38, 28), position_mm(3, 28),
                position_mm(3, 4)};
  board.design.outline->objects = {line};
  board.design.outline->extent = {position_mm(2.95, 3.95), position_mm(38.05, 28.05)};
  EXPECT_EQ(places_of(board).outline, (Box{position_mm(3, 4), position_mm(38, 28)}));
}

TEST(Places, TheTextGivesTheArtworksCoordinatesFirst) {
  EXPECT_EQ(
      finding_in(run_text(open_at("bottom"), {})),
      "      1. (90.92, -153.30) mm bottom 100 %  a break"
      "\n         near R2.1 (4.08 mm); from the board's corner (29.08, 6.70) mm, seen from below");
  EXPECT_EQ(
      finding_in(run_text(open_at("both"), {})),
      "      1. (90.92, -153.30) mm both   100 %  a break"
      "\n         near R1.1 (0.08 mm); from the board's corner (0.92, 6.70) mm, seen from above");
}

TEST(Places, FromTheCornerTheTextSaysSo) {
  const std::string text = run_text(open_at("bottom"), {false, false, Origin::corner});
  EXPECT_EQ(finding_in(text),
            "      1. (29.08, 6.70) mm bottom 100 %  a break"
            "\n         near R2.1 (4.08 mm)");
  EXPECT_NE(text.find("Places are counted from the board's lower left corner as seen from the side "
                      "that is named; holes from above.\n"),
            std::string::npos);
}

TEST(Places, OfARunFromTheRecordTheArtworksAloneAreSaid) {
  RunView view = open_at("bottom");
  view.places.reset();
  EXPECT_EQ(finding_in(run_text(view, {})), "      1. (90.92, -153.30) mm bottom 100 %  a break");
}

// The small board's artwork has its pads at x > 0; its copper is the outline where there is none.
TEST(Places, ThePageCarriesBothCounts) {
  const test::SmallBoard small;
  const Places places = places_of(small.board());
  ASSERT_FALSE(places.pads.empty());
  RunView view = open_at("top");
  const Places::Pad& pad = places.pads.front();
  view.result.diagnosis.findings[0].suspects[0].at = pad.at;
  const auto numbers = [](Position p) {
    char text[64];
    std::snprintf(text, sizeof text, "%.2f, %.2f", to_mm(p.x), to_mm(p.y));
    return std::string(text);
  };
  const std::string page = run_html(view, small.board());
  EXPECT_NE(page.find("<th class=\"screen-only\">From the corner, mm</th>"), std::string::npos);
  EXPECT_NE(
      page.find("<td class=\"n screen-only\" data-is=\"from the corner\">" +
                numbers(from_corner(places, pad.at, "top")) +
                "</td><td class=\"screen-only\" data-is=\"near\">" + pad.id + " (0.00 mm)</td>"),
      std::string::npos);
  const std::string other = run_html(view, small.board(), Origin::corner);
  EXPECT_NE(other.find("<th class=\"screen-only\">In the artwork, mm</th>"), std::string::npos);
  EXPECT_NE(other.find("data-is=\"artwork\">" + numbers(pad.at)), std::string::npos);
}

TEST(Simulated, StandsBesideEveryVerdict) {
  RunView view = open_at("top");
  const test::SmallBoard small;
  EXPECT_EQ(run_text(view, {}).find("simulated"), std::string::npos);
  EXPECT_EQ(nlohmann::json::parse(run_json(view))["simulated"], false);
  view.head.adapter_address = "sim:bench.yaml";
  EXPECT_NE(run_text(view, {}).find("FAIL (simulated)  1 finding, "), std::string::npos);
  EXPECT_NE(run_text(view, {}).find(" in 0.0 s of the simulator's clock. "), std::string::npos);
  EXPECT_NE(run_html(view, small.board()).find(">fail (simulated)</span>"), std::string::npos);
  EXPECT_EQ(nlohmann::json::parse(run_json(view))["simulated"], true);
  view.result.diagnosis.findings.clear();
  for (const auto& [verdict, word] :
       {std::pair{diagnose::Verdict::pass, "PASS (simulated)  "},
        {diagnose::Verdict::incomplete, "INCOMPLETE (simulated)  "}}) {
    view.result.diagnosis.verdict = verdict;
    EXPECT_NE(run_text(view, {}).find(word), std::string::npos);
  }
  view.result.state = "broken off";
  EXPECT_NE(run_text(view, {}).find("NO VERDICT (simulated)  the run broke off"),
            std::string::npos);
}

TEST(Simulated, IsKnownByTheRemarkWhereTheAddressDoesNotSay) {
  record::RunHead head;
  head.adapter_address = "tcp:127.0.0.1:5025";
  EXPECT_FALSE(simulated(head));
  head.remarks = {std::string(kSimulatedRemark) + ": measured on a simulated bench"};
  EXPECT_TRUE(simulated(head));
}

TEST(Json, BytesThatAreNoUtf8AreReplaced) {
  RunView view = open_at("top");
  view.head.unit = "a\xFF";
  EXPECT_EQ(nlohmann::json::parse(run_json(view))["unit"], "a\xEF\xBF\xBD");
}

}  // namespace
}  // namespace isthmus::report
