// SPDX-License-Identifier: Apache-2.0
// Boards by hand through the programs: a simulated person follows what `isthmus guide` says, on
// boards with and without random defects. Whatever goes wrong in their hands, a bad board does not
// pass and nothing is found that is not there.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "tests/hand/play.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::hand_runs {
namespace {

struct Run {
  const char* board;
  std::uint64_t seed;
};

class GuideByHand : public ::testing::TestWithParam<Run> {};

TEST_P(GuideByHand, LetsNothingEscapeAndInventsNothing) {
  const auto [name, seed] = GetParam();
  if (std::string(name) != "demo") {
    ISTHMUS_NEEDS_BOARDS(dir);
  }
  const test::TempDir folder;
  const auto all = boards(folder.path(), name);
  ASSERT_TRUE(all.contains(name));
  const EtchedBoard board(all.at(name));
  const Trial t = try_seed(name, all.at(name), board, seed, folder.path() / "run");
  EXPECT_EQ(t.wrong, "") << in_words(t);
}

std::vector<Run> runs() {
  std::vector<Run> list;
  const std::pair<const char*, std::uint64_t> kBoards[] = {
      {"demo", 1},        {"encoder", 22},    {"melody", 7},
      {"fx-switcher", 2}, {"prom-burner", 3}, {"rom-programmer", 5}};
  for (const auto& [board, count] : kBoards) {
    for (std::uint64_t seed = 0; seed < count; ++seed) list.push_back({board, seed});
  }
  return list;
}

std::string name_of(const ::testing::TestParamInfo<Run>& run) {
  std::string board = run.param.board;
  std::erase(board, '-');
  return fmt::format("{}{}", board, run.param.seed);
}

INSTANTIATE_TEST_SUITE_P(Forty, GuideByHand, ::testing::ValuesIn(runs()), name_of);

// The demo board with nothing wrong, two needles and a contact check: a pass, in as many touches as
// were planned.
TEST(ByHandThroughThePrograms, TheSoundDemoPassesInThePlannedTouches) {
  const test::TempDir folder;
  const auto all = boards(folder.path(), "demo");
  const EtchedBoard board(all.at("demo"));
  const Bench careful{"careful",
                      "aim-mm: 0.03, pf: 60, hum-uv: 100",
                      "contact-check: true",
                      {"--channels", "16", "--needles", "2", "--contact-check"},
                      16};
  const Trial t =
      play(all.at("demo"), careful, {}, folder.path() / "run", {"demo", 3, {}, {}, {}, {}});
  EXPECT_EQ(t.played.verdict, "pass") << in_words(t);
  EXPECT_EQ(t.played.landings, t.played.planned);
}

}  // namespace
}  // namespace isthmus::hand_runs
