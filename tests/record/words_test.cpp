// SPDX-License-Identifier: Apache-2.0
// Oracle: the words of docs/record.md; each list must read back as it was.
#include "record/words.hpp"

#include <gtest/gtest.h>

namespace isthmus::record {
namespace {

TEST(Words, ReadBackAsWritten) {
  for (int k = 0; k <= static_cast<int>(plan::StepKind::resistance); ++k) {
    EXPECT_EQ(step_kind(word(static_cast<plan::StepKind>(k))), static_cast<plan::StepKind>(k));
  }
  for (int k = 0; k <= static_cast<int>(diagnose::FindingKind::leakage); ++k) {
    EXPECT_EQ(finding_kind(word(static_cast<diagnose::FindingKind>(k))),
              static_cast<diagnose::FindingKind>(k));
  }
  EXPECT_EQ(word(plan::StepKind::control_open), "control-open");
  EXPECT_EQ(verdict("pass"), diagnose::Verdict::pass);
  EXPECT_EQ(side("both"), Side::both);
  EXPECT_FALSE(step_kind("Open"));
  EXPECT_FALSE(verdict(""));
}

TEST(Lists, ReadBackAsWritten) {
  const std::vector<std::string> awkward{"",    "U1.3", "a\nb",         "back\\slash",
                                         "\\n", "\n",   "@1.000,2.000", "\xc3\xbc"};
  EXPECT_EQ(read_list(write_list(awkward)), awkward);
  EXPECT_EQ(read_list(write_list({})), std::vector<std::string>{});
  EXPECT_EQ(read_list(write_list({""})), std::vector<std::string>{""});
  EXPECT_EQ(write_list({"U1.3", "R4.1"}), "U1.3\nR4.1\n");
}

TEST(Numbers, ReadBackAsWritten) {
  const std::vector<std::int64_t> some{0, -1, INT64_MAX, INT64_MIN};
  EXPECT_EQ(read_numbers(write_numbers(some)), some);
  EXPECT_EQ(read_numbers(""), std::vector<std::int64_t>{});
  for (const char* bad : {" ", "1,2", "1  2", "x", "1 ", "99999999999999999999"}) {
    EXPECT_NE(read_numbers(bad), (std::vector<std::int64_t>{1, 2})) << bad;
  }
  for (const char* bad : {" ", "1,2", "1  2", "x", "99999999999999999999"})
    EXPECT_FALSE(read_numbers(bad)) << bad;
}

}  // namespace
}  // namespace isthmus::record
