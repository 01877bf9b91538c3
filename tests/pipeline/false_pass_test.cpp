// SPDX-License-Identifier: Apache-2.0
// Ways in which a run over a faultless board could lie: none of them may end in a pass.
#include <gtest/gtest.h>

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
