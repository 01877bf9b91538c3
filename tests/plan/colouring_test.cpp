// SPDX-License-Identifier: Apache-2.0
#include "plan/colouring.hpp"

#include <gtest/gtest.h>

namespace isthmus::plan {
namespace {

// ceil(log2 chi): Harary, Hsu & Miller 1977.
TEST(TestsFor, IsTheCeilingOfTheBinaryLogarithm) {
  EXPECT_EQ(tests_for(0), 0u);
  EXPECT_EQ(tests_for(1), 0u);
  EXPECT_EQ(tests_for(2), 1u);
  EXPECT_EQ(tests_for(4), 2u);
  EXPECT_EQ(tests_for(5), 3u);
  EXPECT_EQ(tests_for(8), 3u);
  EXPECT_EQ(tests_for(9), 4u);
}

}  // namespace
}  // namespace isthmus::plan
