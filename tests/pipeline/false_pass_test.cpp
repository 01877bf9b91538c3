// SPDX-License-Identifier: Apache-2.0
// Ways in which a run over a faultless board could lie: none of them may end in a pass.
#include <gtest/gtest.h>

#include <map>

#include "tests/pipeline/programs.hpp"

namespace isthmus {
namespace {

using test::Folder;
using test::Ran;

// The mended demo board; it passes when nothing is changed.
class FalsePass : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    folder_ = std::make_unique<Folder>();
    test::lay_tide_gauge(*folder_);
    const Ran fixture =
        test::isthmus({"fixture", *folder_ / "board.yaml", "--stage", "finished", "--channels",
                       "64", "--contact-check", "--out", *folder_ / "fixture.yaml"});
    ASSERT_EQ(fixture.code, 0) << fixture.err;
    bench_ = test::read(*folder_ / "bench-mended.yaml");
  }
  static void TearDownTestSuite() { folder_.reset(); }

  static Ran measure(const std::string& bench) {
    test::write(*folder_ / "bench.yaml", bench);
    return test::isthmus({"test", *folder_ / "board.yaml", "--stage", "finished", "--fixture",
                          *folder_ / "fixture.yaml", "--adapter",
                          "sim:" + (*folder_ / "bench.yaml").string(), "--record",
                          *folder_ / "record.db", "--json"});
  }
  static void expect_no_pass(const std::string& change) {
    const Ran ran = measure(bench_ + change + "\n");
    EXPECT_TRUE(ran.code == 1 || ran.code == 4) << change << ": " << ran.code << "\n" << ran.err;
    EXPECT_NE(test::json_of(ran)["verdict"], "pass") << change;
  }

  static std::unique_ptr<Folder> folder_;
  static std::string bench_;
};
std::unique_ptr<Folder> FalsePass::folder_;
std::string FalsePass::bench_;

TEST_F(FalsePass, NoneWithTheFixtureOnePitchOff) {
  expect_no_pass("fixture: {shift: [2.54, 0]}");
  expect_no_pass("fixture: {shift: [0, -2.54]}");
  expect_no_pass("fixture: {shift: [0.5, 0]}");
}

TEST_F(FalsePass, NoneWithTheFixtureTurnedOrMirrored) {
  expect_no_pass("fixture: {turn: 180}");
  expect_no_pass("fixture: {mirror: true}");
}

TEST_F(FalsePass, NoneWithAStuckSwitch) {
  for (const char* stuck : {"[2, 9, closed]", "[1, 9, open]", "[2, 30, open]"}) {
    const Ran ran =
        measure(test::with(bench_, "settle-us", std::string("stuck: [") + stuck + "], settle-us"));
    EXPECT_TRUE(ran.code == 1 || ran.code == 4) << stuck << ": " << ran.code << "\n" << ran.err;
  }
}

// The simulator meshes and solves its copper by itself: what was laid on its bench must be fitted.
TEST_F(FalsePass, TheFoilOnTheBenchIsFittedAndAnOverEtchedOneIsNotAbsorbed) {
  const auto foil = [&](const std::string& undercut) {
    const auto at = bench_.find("copper: {"), end = bench_.find('}', at);
    std::string bench = bench_;
    bench.replace(at, end - at,
                  "copper: {thickness-spread: 0, gradient: 0, undercut-um: " + undercut +
                      ", undercut-spread-um: 0, temperature: 20");
    const Ran ran = measure(bench);
    EXPECT_EQ(ran.code, 0) << ran.err;
    return test::json_of(ran);
  };
  const auto good = foil("15");
  EXPECT_EQ(good["remarks"].dump().find("check copper"), std::string::npos) << good["remarks"];
  const auto usual = good["foil"];
  EXPECT_NEAR(usual["thickness_mm"], 0.035, 2 * usual["thickness_sd_mm"].get<double>());
  EXPECT_NEAR(usual["undercut_mm"], 0.015, 2 * usual["undercut_sd_mm"].get<double>());
  EXPECT_LT(usual["thickness_sd_mm"], 0.005);  // surer than 20 % of 35 um
  EXPECT_FALSE(usual["at_bound"]);
  const auto etched = foil("55");
  EXPECT_LE(etched["foil"]["undercut_mm"], 0.035);
  // Tracks that are narrower read much as thinner foil does: both are said.
  EXPECT_NE(etched["remarks"].dump().find("check copper: thickness (stated 35 um; readings fit"),
            std::string::npos)
      << etched["remarks"];
  EXPECT_NE(etched["remarks"].dump().find("or the tracks are narrower than drawn"),
            std::string::npos)
      << etched["remarks"];
}

// Splashes beside joins made by hand, farther than limits.window.
TEST_F(FalsePass, NoneWithASplashOfSolderBesideAWire) {
  const auto board = test::json_of(
      test::isthmus({"inspect", *folder_ / "board.yaml", "--stage", "finished", "--json"}));
  std::map<nlohmann::json, nlohmann::json> nearest;
  for (const auto& gap : board["gaps"]) nearest.try_emplace(gap["nets"], gap);
  std::size_t played = 0;
  for (const auto& [nets, gap] : nearest) {
    const std::string text = nets.dump();
    if (gap["gap_mm"] < 1.8 || text.find('#') != std::string::npos || played == 1) continue;
    ++played;
    const Ran ran = measure(test::with(
        bench_, "defects: []",
        "defects: [{kind: leak, at: [" + gap["x_mm"].dump() + ", " + gap["y_mm"].dump() +
            "], side: " + gap["side"].get<std::string>() + ", nets: " + text + ", ohm: 300}]"));
    EXPECT_EQ(ran.code, 1) << text << ran.err;
    const auto findings = test::json_of(ran)["findings"];
    ASSERT_EQ(findings.size(), 1U) << text;
    EXPECT_EQ(findings[0]["kind"], "bridge");
    EXPECT_EQ(findings[0]["nets"], nets);
  }
  EXPECT_EQ(played, 1U);
}

TEST_F(FalsePass, TheDesignOnTheBenchInsteadOfAnEtchedBoardIsSaid) {
  const char* const remark = "the simulated board is the design itself";
  const Ran etched = measure(bench_);
  EXPECT_EQ(etched.code, 0) << etched.err;
  EXPECT_EQ(etched.out.find(remark), std::string::npos);
  const Ran design =
      measure(test::with(bench_, "board: etched/finished.yaml", "board: board.yaml"));
  EXPECT_NE(design.out.find(remark), std::string::npos) << design.err;
}

}  // namespace
}  // namespace isthmus
