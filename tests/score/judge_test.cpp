// SPDX-License-Identifier: Apache-2.0
// Distances below are worked out by hand.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "score/score.hpp"

namespace isthmus::score {
namespace {

Truth bridge_at(double x, double y) {
  return {"bridge", {{x, y, "top"}, {x + 0.2, y, "top"}}, 0, {}, 1};
}

Finding finding(const std::string& kind, double x, double y, const std::string& side = "top") {
  return {kind, {"A", "B"}, {{{x, y, side}, {}}}};
}

TEST(Judge, FindsADefectWithinAMillimetre) {
  const Score score = judge({bridge_at(10, 5)}, {"fail", {finding("bridge", 10.1, 5.9)}});
  EXPECT_TRUE(score.perfect());
  EXPECT_NEAR(score.matches[0].distance_mm, 0.9, 1e-9);
}

TEST(Judge, MissesADefectFartherAwayAndCallsTheFindingInvented) {
  const Score score = judge({bridge_at(10, 5)}, {"fail", {finding("bridge", 10.1, 6.2)}});
  EXPECT_EQ(score.found(), 0U);
  EXPECT_EQ(score.invented, std::vector<std::size_t>{0});
}

TEST(Judge, TakesThePathOfASuspect) {
  Finding along = finding("bridge", 30, 5);
  along.suspects[0].path = {{0, 5.5, "top"}, {40, 5.5, "top"}};
  const Score score = judge({bridge_at(10, 5)}, {"fail", {along}});
  EXPECT_TRUE(score.perfect());
  EXPECT_NEAR(score.matches[0].distance_mm, 0.5, 1e-9);
}

TEST(Judge, DoesNotTakeTheOtherSide) {
  EXPECT_FALSE(judge({bridge_at(10, 5)}, {"fail", {finding("bridge", 10, 5, "bottom")}}).perfect());
}

TEST(Judge, DoesNotTakeAnotherKind) {
  EXPECT_FALSE(judge({bridge_at(10, 5)}, {"fail", {finding("open", 10, 5)}}).perfect());
}

TEST(Judge, CountsInventedFindingsBesideFoundOnes) {
  const Score score =
      judge({bridge_at(10, 5)}, {"fail", {finding("open", 40, 40), finding("bridge", 10, 5)}});
  EXPECT_EQ(score.found(), 1U);
  EXPECT_EQ(score.invented, std::vector<std::size_t>{0});
  EXPECT_FALSE(score.perfect());
}

TEST(Judge, IsContentWithNothingFoundOnAGoodBoard) {
  EXPECT_TRUE(judge({}, {"pass", {}}).perfect());
}

TEST(Judge, LetsTwoDefectsOfOneNetShareAFinding) {
  Finding both = finding("open", 10, 5);
  both.suspects.push_back({{30, 5, "top"}, {}});
  const Truth first{"open", {{10, 5, "top"}}, 0, {}, 1}, second{"open", {{30, 5, "top"}}, 0, {}, 2};
  EXPECT_TRUE(judge({first, second}, {"fail", {both}}).perfect());
}

TEST(ExpectedKind, FollowsTheOhmsOfAWhisker) {
  EXPECT_EQ(expected_kind({"whisker", {}, 300, {}, 1}), "bridge");
  EXPECT_EQ(expected_kind({"whisker", {}, 200e3, {}, 1}), "leakage");
  EXPECT_EQ(expected_kind({"leak", {}, 1.2e6, {}, 1}), "leakage");
  EXPECT_EQ(expected_kind({"neck", {}, 0, {}, 1}), "high-resistance");
  EXPECT_EQ(expected_kind({"no-join", {}, 0, {}, 1}), "open");
}

class ScoreFiles : public testing::Test {
 protected:
  ScoreFiles() { std::filesystem::create_directories(dir_); }
  ~ScoreFiles() override { std::filesystem::remove_all(dir_); }
  std::string write(const std::string& name, const std::string& text) {
    std::ofstream(dir_ / name) << text;
    return (dir_ / name).string();
  }

 private:
  std::filesystem::path dir_ =
      std::filesystem::temp_directory_path() /
      ("isthmus-score-" +
       std::string(testing::UnitTest::GetInstance()->current_test_info()->name()));
};

TEST_F(ScoreFiles, ReadsDrawnAndHungDefects) {
  const auto truths = read_truths(
      write("s.yaml",
            "isthmus: 1\ndrawn:\n  - {kind: open, at: [1, 2], side: bottom, diameter: 0.4}\n"
            "defects:\n  - {kind: leak, at: [3, 4], side: top, nets: [A, B], ohm: 1.2e6}\n"));
  ASSERT_EQ(truths.size(), 2U);
  EXPECT_EQ(truths[0].spots[0].side, "bottom");
  EXPECT_EQ(truths[1].nets, (std::vector<std::string>{"A", "B"}));
  EXPECT_EQ(truths[1].line, 5);
}

TEST_F(ScoreFiles, ReadsAReport) {
  const Report report = read_report(
      write("r.json", R"({"verdict":"fail","findings":[{"kind":"open","nets":["A"],"suspects":[
    {"rank":1,"x_mm":1.5,"y_mm":2.5,"side":"both","path":[[1,2],[3,4]]}]}]})"));
  ASSERT_EQ(report.findings.size(), 1U);
  EXPECT_EQ(report.findings[0].suspects[0].path.size(), 2U);
  EXPECT_DOUBLE_EQ(report.findings[0].suspects[0].spot.y, 2.5);
}

TEST_F(ScoreFiles, RefusesWhatIsNoReport) {
  EXPECT_THROW(read_report(write("r.json", "{\"findings\": 3")), std::runtime_error);
  EXPECT_THROW(read_report("/nowhere/r.json"), std::runtime_error);
}

}  // namespace
}  // namespace isthmus::score
