// SPDX-License-Identifier: Apache-2.0
// Boards by hand through the programs: a simulated person follows what `isthmus guide` says, on
// boards with and without random defects. Whatever goes wrong in their hands, a bad board does not
// pass and nothing is found that is not there.
#include <gtest/gtest.h>

#include "tests/hand/play.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::hand_runs {
namespace {

void play(const std::string& name, std::uint64_t from, std::uint64_t to) {
  const test::TempDir folder;
  const auto all = boards(folder.path());
  ASSERT_TRUE(all.contains(name));
  const EtchedBoard board(all.at(name));
  for (std::uint64_t seed = from; seed < to; ++seed) {
    const Trial t = try_seed(name, all.at(name), board, seed, folder.path() / "run");
    EXPECT_EQ(t.wrong, "") << in_words(t);
  }
}

TEST(GuideByHand, OfTheDemoLetsNothingEscapeAndInventsNothing) { play("demo", 0, 15); }

class GuideByHandOf : public ::testing::TestWithParam<const char*> {};

TEST_P(GuideByHandOf, LetsNothingEscapeAndInventsNothing) {
  ISTHMUS_NEEDS_BOARDS(dir);
  play(GetParam(), 100, 105);
}
INSTANTIATE_TEST_SUITE_P(RealBoards, GuideByHandOf,
                         ::testing::Values("encoder", "fx-switcher", "melody", "prom-burner",
                                           "rom-programmer"));

}  // namespace
}  // namespace isthmus::hand_runs
