// SPDX-License-Identifier: Apache-2.0
// What the page says, before a browser shows it; and the files beside it.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <regex>

#include "report/names.hpp"
#include "report/net_readings.hpp"
#include "tests/expect/piece_board.hpp"
#include "tests/report/faulty_run.hpp"

namespace isthmus::report {
namespace {

const expect::Board& board() {
  static const test::SmallBoard kBoard;
  return kBoard.board();
}

NetReading of_net(const std::vector<NetReading>& list, const std::string& net) {
  return *std::ranges::find(list, net, &NetReading::net);
}

// The bench answers 20 mohm a link of the chain and 50 mohm a tip (tests/support/fake_bench.cpp).
TEST(NetReadings, StandBesideTheirPredictions) {
  const RunView run = test::faulty_run(board());
  const auto list = net_readings(board(), run.plan, run.readings);
  const NetReading beta = of_net(list, "BETA");
  EXPECT_EQ(beta.from, "U1.2");
  EXPECT_EQ(beta.to, "U3.2");
  ASSERT_TRUE(beta.measured && beta.predicted);
  EXPECT_NEAR(beta.measured->value, 0.14, 1e-3);
  // 20 mm of a 0.3 mm track, less the pads' share: 17.241e-9 * 20e-3 / (0.3e-3 * 35e-6) at most.
  EXPECT_LT(beta.predicted->ohms.value, 0.036);
  EXPECT_GT(beta.predicted->ohms.value, 0.030);
  EXPECT_EQ(of_net(list, "N/C(U1.3)").readings, 0u);
}

TEST(NetReadings, AnOpenIsOverRange) {
  const RunView run = test::faulty_run(board());
  const auto list = net_readings(board(), run.plan, run.readings);
  EXPECT_GT(of_net(list, "ALPHA").readings, 0u);
  EXPECT_EQ(of_net(list, "ALPHA").measured, std::nullopt);
}

TEST(NetReadings, OfARepeatedStepTheLastReadingCounts) {
  RunView run = test::faulty_run(board());
  std::vector<plan::Reading> all = run.readings;  // where the later ones lie does not matter
  for (plan::Reading& r : all) {
    r.sequence += static_cast<std::uint32_t>(all.size());
    if (auto* m = std::get_if<plan::Measured>(&r.outcome)) m->value += 0.1;
  }
  const double before =
      of_net(net_readings(board(), run.plan, run.readings), "FOXTROT").measured->value;
  all.insert(all.end(), run.readings.begin(), run.readings.end());
  const auto list = net_readings(board(), run.plan, all);
  EXPECT_NEAR(of_net(list, "FOXTROT").measured->value, before + 0.1, 1e-9);
}

TEST(NetReadings, WhatWasTakenBackDoesNotCount) {
  RunView run = test::faulty_run(board());
  for (auto& p : run.plan.placements) p.taken_back = "undone";
  for (const NetReading& n : net_readings(board(), run.plan, run.readings))
    EXPECT_EQ(n.readings, 0u) << n.net;
}

// Pads of 0.5 mm (tests/support/small_board.hpp); letters about 0.6 of their height wide.
TEST(NamesOnTheBoard, FitOnTheirPads) {
  bool seen = false;
  for (const NameOnBoard& n : names_on(board(), false)) {
    if (n.text != "U1.2") continue;
    seen = true;
    EXPECT_NEAR(n.x, 2, 0.25);
    EXPECT_NEAR(n.y, -3, 0.25);
    EXPECT_LE(0.6 * n.height * 4, 0.5);
    EXPECT_LE(n.height, 0.5);
  }
  EXPECT_TRUE(seen);
}

// A pad of 0.3 by 1.5 mm: too narrow across, so along it.
TEST(NamesOnTheBoard, RunAlongAnElongatedPad) {
  test::LittleBoard little;
  little.pad(0, 5, 5, 0.3, 1.5).record("CLOCK", "U1", "7", 5.004, 4.997, 1);
  little.pad(0, 9, 5, 0.3, 1.5).record("DATA", "U1", "8", 9, 5, 1);
  const auto made = test::whole(std::move(little));
  const auto names = names_on(*made, false);
  const auto name = std::ranges::find(names, "U1.7 CLOCK", &NameOnBoard::text);
  ASSERT_NE(name, names.end());
  EXPECT_EQ(name->degrees, -90);
  EXPECT_LE(0.6 * name->height * 10, 1.5);
  EXPECT_LE(name->height, 0.3);
  EXPECT_GT(name->height, 0.15);
}

TEST(NamesOnTheBoard, AreMirroredInPlaceAndNotInWritingFromBelow) {
  const auto names = names_on(board(), true);
  const auto delta = std::ranges::find(names, "DELTA", &NameOnBoard::text);
  ASSERT_NE(delta, names.end());  // along its track at the bottom, from x = 12 to 22
  EXPECT_LT(delta->x, 0);
  EXPECT_EQ(delta->degrees, 0);
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t at = 0; (at = text.find(what, at)) != std::string::npos; ++at) ++n;
  return n;
}

TEST(JUnit, ANetIsPassedOnlyIfNothingIsHeldAgainstIt) {
  const std::string xml = run_junit(test::faulty_run(board()), board());
  const auto of = [&xml](const std::string& net) {
    const std::size_t at = xml.find("name=\"" + net + "\">");
    EXPECT_NE(at, std::string::npos) << net;
    return xml.substr(at, xml.find("</testcase>", at) - at);
  };
  EXPECT_NE(of("verdict").find("<failure message=\"fail\">"), std::string::npos);
  EXPECT_NE(of("ALPHA").find("<failure message=\"finding 1: open"), std::string::npos);
  EXPECT_NE(of("ECHO").find("<failure message=\"finding 2: bridge"), std::string::npos);
  EXPECT_NE(of("N/C(U1.3)").find("<skipped message=\"not tested: U1.3 (no-contact)\"/>"),
            std::string::npos);
  EXPECT_EQ(of("FOXTROT"), "name=\"FOXTROT\">");
  EXPECT_NE(xml.find(fmt::format("tests=\"{}\" failures=\"{}\" errors=\"0\" skipped=\"{}\"",
                                 count(xml, "<testcase"), count(xml, "<failure"),
                                 count(xml, "<skipped"))),
            std::string::npos)
      << xml.substr(0, 300);
  EXPECT_NE(xml.find("classname=\"small &lt;board&gt; &amp; &quot;co&quot;.joined\""),
            std::string::npos);
}

// A server takes skipped cases for good ones: what is incomplete must not look so.
TEST(JUnit, ARunThatBrokeOffIsAnErrorAndNoNetPasses) {
  RunView run = test::faulty_run(board());
  run.result.diagnosis.findings.clear();
  run.result.diagnosis.untested.clear();
  run.result.diagnosis.cannot_tell.clear();
  run.result.diagnosis.verdict = diagnose::Verdict::incomplete;
  run.result.state = "broken off";
  run.result.problem = "the link was lost";
  const std::string xml = run_junit(run, board());
  EXPECT_NE(xml.find("<error message=\"incomplete\">the link was lost\n"), std::string::npos);
  EXPECT_EQ(count(xml, "\"></testcase>"), 0u) << xml;
}

TEST(SideSvg, IsDrawnInTrueSizeWithFindingsAndNames) {
  const std::string svg = side_svg(test::faulty_run(board()), board(), Side::top);
  static const std::regex size(
      "width=\"([0-9.]+)mm\" height=\"([0-9.]+)mm\" [^>]*viewBox=\"([-0-9.]+) "
      "([-0-9.]+) ([0-9.]+) ([0-9.]+)\"");
  std::smatch m;
  ASSERT_TRUE(std::regex_search(svg, m, size));
  EXPECT_EQ(m[1], m[5]);
  EXPECT_EQ(m[2], m[6]);
  EXPECT_NE(svg.find(">U1.2</text>"), std::string::npos);
  EXPECT_NE(svg.find("Finding 1, place 1"), std::string::npos);
  EXPECT_EQ(svg.find("var("), std::string::npos);  // readers of SVG know no variables
  const std::string below = side_svg(test::faulty_run(board()), board(), Side::bottom);
  EXPECT_NE(below.find("mirrored"), std::string::npos);
}

// 500 nets of four pads, a tenth of a metre of track each, with corners as a router makes them.
TEST(Page, OfFiveHundredNetsStaysBelowTwoMegabytes) {
  test::LittleBoard little;
  for (int n = 0; n < 500; ++n) {
    const double x = 20.0 * (n % 10), y = 3.0 * (n / 10);
    const std::string net = fmt::format("SIGNAL_{}", n);
    for (int pad = 0; pad < 4; ++pad)
      little.surface(net, fmt::format("U{}", n), std::to_string(pad + 1), x + 4 * pad, y);
    for (int i = 0; i < 12; ++i) {
      little.track(0, x + i, y, x + i, y + (i % 2), 0.2);
      little.track(0, x + i, y + (i % 2), x + i + 1, y + (i % 2), 0.2);
      little.track(0, x + i + 1, y + (i % 2), x + i + 1, y, 0.2);
    }
  }
  const auto big = test::whole(std::move(little));
  ASSERT_EQ(big->expectation.groups.size(), 500u);
  RunView run;
  run.result.diagnosis = diagnose::diagnose(*big, plan::Plan{}, {}, false);
  EXPECT_EQ(run.result.diagnosis.untested.size(), 500u);  // the longest page: all of it untested
  EXPECT_LT(run_html(run, *big).size(), 2'000'000u);
}

}  // namespace
}  // namespace isthmus::report
