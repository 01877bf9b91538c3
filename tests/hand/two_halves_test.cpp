// SPDX-License-Identifier: Apache-2.0
// Boards with parts on both sides whose halves meet in one hole, by hand: the good ones pass, and a
// hole that nobody soldered is found.
#include "tests/support/two_halves.hpp"

#include <gtest/gtest.h>

#include "tests/hand/play.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::hand_runs {
namespace {

struct Board {
  const char* name;
  test::TwoHalves halves;
};

class TwoHalvesByHand : public ::testing::TestWithParam<Board> {
 protected:
  Trial played(const std::vector<hostsim::Defect>& defects) const {
    const Bench careful{"careful",
                        "aim-mm: 0.03, pf: 60, hum-uv: 100",
                        "contact-check: true",
                        {"--channels", "6", "--needles", "2", "--contact-check"},
                        6};
    const auto file = GetParam().halves.write(folder_.path() / "board");
    return play(file, careful, defects, folder_.path() / "run",
                {GetParam().name, 1, {}, {}, {}, {}});
  }
  test::TempDir folder_;
};

TEST_P(TwoHalvesByHand, PassWhenTheyAreGood) {
  const Trial t = played({});
  EXPECT_EQ(t.played.verdict, "pass") << in_words(t);
}

TEST_P(TwoHalvesByHand, FailWithoutTheirHole) {
  hostsim::Defect none;
  none.kind = hostsim::DefectKind::no_join;
  none.at = GetParam().halves.hole(0);
  const Trial t = played({none});
  EXPECT_EQ(t.played.verdict, "fail") << in_words(t);
  ASSERT_EQ(t.played.findings.size(), 1U) << in_words(t);
  EXPECT_EQ(t.played.findings[0], "open X0");
}

INSTANTIATE_TEST_SUITE_P(Boards, TwoHalvesByHand,
                         ::testing::Values(Board{"beside", {4, 1, false, false}},
                                           Board{"under", {4, 1, true, false}},
                                           Board{"leads", {3, 2, true, true}}),
                         [](const auto& board) { return board.param.name; });

}  // namespace
}  // namespace isthmus::hand_runs
