// SPDX-License-Identifier: Apache-2.0
#include "isthmus/report/wrap.hpp"

#include <gtest/gtest.h>

namespace isthmus::report {
namespace {

TEST(Wrapped, ShortLinesAndTheirEndsStayAsTheyAre) {
  EXPECT_EQ(wrapped("", 20), "");
  EXPECT_EQ(wrapped("a  b\n\n  c\n", 20), "a  b\n\n  c\n");
  EXPECT_EQ(wrapped("12345 7890", 10), "12345 7890");
}

TEST(Wrapped, BreaksAtBlanksAndIndentsUnderTheFirstWord) {
  EXPECT_EQ(wrapped("  part 1: R1 R2 R3 R4\n", 14), "  part 1: R1\n    R2 R3 R4\n");
  EXPECT_EQ(wrapped("   1. (1, 2) mm top neck\n", 18), "   1. (1, 2) mm\n      top neck\n");
}

TEST(Wrapped, AWordLongerThanALineStaysWhole) {
  EXPECT_EQ(wrapped("a 0123456789abcdef b", 10), "a\n  0123456789abcdef\n  b");
}

TEST(Wrapped, ColoursAndLettersOfSeveralBytesTakeTheColumnsTheyShow) {
  EXPECT_EQ(wrapped("\033[1;31mBRIDGE\033[0m a b", 10), "\033[1;31mBRIDGE\033[0m a b");
  EXPECT_EQ(wrapped("\xc2\xb5\xc2\xb5\xc2\xb5\xc2\xb5 \xc2\xb5", 6),
            "\xc2\xb5\xc2\xb5\xc2\xb5\xc2\xb5 \xc2\xb5");
}

}  // namespace
}  // namespace isthmus::report
