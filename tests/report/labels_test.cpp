// SPDX-License-Identifier: Apache-2.0
#include "report/labels.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace isthmus::report {
namespace {

constexpr double kRadius = 0.25, kHeight = 1.1;

// Two rows of twelve pins at 0.5 mm pitch, 3 mm apart.
std::vector<Tip> fine_pitch_part() {
  std::vector<Tip> tips;
  for (int i = 0; i < 24; ++i)
    tips.push_back({10 + 0.5 * (i % 12), i < 12 ? 10.0 : 13.0, std::to_string(i + 1)});
  return tips;
}

bool apart(double ax, double aw, double ay, double ah, double bx, double bw, double by, double bh) {
  return std::abs(ax - bx) >= (aw + bw) / 2 || std::abs(ay - by) >= (ah + bh) / 2;
}

TEST(Labels, OfAFinePitchPartCoverNeitherEachOtherNorATip) {
  const auto tips = fine_pitch_part();
  const auto places = place_labels(tips, kRadius, kHeight);
  ASSERT_EQ(places.size(), tips.size());
  for (std::size_t i = 0; i < tips.size(); ++i) {
    const double w = label_width(tips[i].label, kHeight);
    for (std::size_t j = 0; j < tips.size(); ++j) {
      EXPECT_TRUE(apart(places[i].x, w, places[i].y, kHeight, tips[j].x, 2 * kRadius, tips[j].y,
                        2 * kRadius))
          << i << " on tip " << j;
      if (i == j) continue;
      EXPECT_TRUE(apart(places[i].x, w, places[i].y, kHeight, places[j].x,
                        label_width(tips[j].label, kHeight), places[j].y, kHeight))
          << i << " on " << j;
    }
  }
}

TEST(Labels, ALoneTipHasItsNumberBesideItWithoutALeader) {
  const auto places = place_labels({{5, 5, "7"}}, kRadius, kHeight);
  EXPECT_FALSE(places[0].leader);
  EXPECT_LT(std::hypot(places[0].x - 5, places[0].y - 5), 1.5);
}

}  // namespace
}  // namespace isthmus::report
