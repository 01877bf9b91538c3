// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/guide.md and the JSON of the contract; counts of a small board by hand.
#include "isthmus/report/hand.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "tests/support/small_board.hpp"

namespace isthmus::report {
namespace {

constexpr plan::HandMeans kMeans{4, 2, false, true};

plan::HandPlan plan_of(const expect::Board& board) {
  Diagnostics notes;
  return std::move(plan::plan_by_hand(board, kMeans, {}, notes)).value();
}

TEST(HandJson, HasTheKeysThatScriptsRelyOn) {
  const test::SmallBoard small;
  const plan::HandPlan plan = plan_of(small.board());
  const auto j = nlohmann::json::parse(hand_json(small.board(), kMeans, plan));
  for (const char* key :
       {"channels", "needles", "clips", "touches", "bound", "bound_free", "pairs_unclipped",
        "minutes", "minutes_low", "minutes_high", "rounds", "touch_list", "cannot_tell"})
    EXPECT_TRUE(j.contains(key)) << key;
  EXPECT_EQ(j["touch_list"].size(), plan.touches);
  EXPECT_EQ(j["rounds"][0]["touches"], plan.rounds[0].touches.size());
  EXPECT_LE(j["bound_free"], j["bound"]);
  EXPECT_LE(j["bound"], j["touches"]);
}

TEST(HandText, IsOneScreenAndSaysWhatIsAskedFor) {
  const test::SmallBoard small;
  const std::string text = hand_text(small.board(), kMeans, plan_of(small.board()), {});
  EXPECT_LE(std::ranges::count(text, '\n'), 24);
  EXPECT_NE(text.find("by hand: 4 channels, 2 needles, contact check\n"), std::string::npos)
      << text;
  EXPECT_NE(text.find("cannot tell   nothing: every possible fault is excluded\n"),
            std::string::npos)
      << text;
}

TEST(HandClipInWords, SaysChannelPadAndWhereItLies) {
  const test::SmallBoard small;
  const plan::HandClip clip{3, PointId{0}, Side::top, Side::top};
  const expect::Point& p = small.board().expectation.point(clip.point);
  EXPECT_TRUE(
      hand_clip_in_words(small.board(), clip, {}).starts_with("3 on " + p.id + ", from above ("));
}

TEST(ClipSheet, NamesEachClipOfItsSideAndMirrorsTheBottom) {
  const test::SmallBoard small;
  plan::Round round;
  round.clips = {{3, PointId{0}, Side::top, Side::top}, {5, PointId{1}, Side::both, Side::bottom}};
  const std::string top = clip_sheet_svg(small.board(), round, Side::top);
  const std::string bottom = clip_sheet_svg(small.board(), round, Side::bottom);
  EXPECT_NE(top.find(">3</text>"), std::string::npos);
  EXPECT_EQ(top.find("MIRRORED"), std::string::npos);
  EXPECT_NE(bottom.find(">5</text>"), std::string::npos);
  EXPECT_NE(bottom.find("MIRRORED (seen from below)"), std::string::npos);
}

}  // namespace
}  // namespace isthmus::report
