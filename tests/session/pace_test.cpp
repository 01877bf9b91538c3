// SPDX-License-Identifier: Apache-2.0
#include "session/guide/pace.hpp"

#include <gtest/gtest.h>

namespace isthmus::session {
namespace {

TEST(Pace, IsToldByTheQuartilesAfterTwentyTouches) {
  Pace pace;
  double now = 100;
  for (int i = 0; i < 19; ++i) {
    pace.begin(now);
    now += i % 4 == 0 ? 60 : i % 4 == 1 ? 12 : 6;  // one in four was talked over
    pace.booked(now);
  }
  EXPECT_FALSE(pace.minutes(10));
  pace.begin(now);
  pace.booked(now + 6);
  const auto left = pace.minutes(10);
  ASSERT_TRUE(left);
  EXPECT_DOUBLE_EQ(left->first, 1.0);
  EXPECT_DOUBLE_EQ(left->second, 10.0);
  EXPECT_DOUBLE_EQ(pace.minutes(0)->second, 0.0);
}

TEST(Pace, ARestIsDueOnceInTwentyFiveMinutes) {
  Pace pace;
  pace.rested(0);
  EXPECT_FALSE(pace.rest_is_due(1499));
  EXPECT_TRUE(pace.rest_is_due(1500));
  EXPECT_FALSE(pace.rest_is_due(1501));
  pace.rested(2000);
  EXPECT_FALSE(pace.rest_is_due(3499));
  EXPECT_TRUE(pace.rest_is_due(3500));
}

}  // namespace
}  // namespace isthmus::session
