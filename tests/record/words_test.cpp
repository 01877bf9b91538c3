// SPDX-License-Identifier: Apache-2.0
// Oracle: the words of docs/record.md; each list must read back as it was.
#include "record/words.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "tests/support/paths.hpp"

namespace isthmus::record {
namespace {

// As the older programs wrote them: a word is never given to another kind.
TEST(Words, AreThoseOfTheRecordsThatExist) {
  using diagnose::FindingKind;
  using plan::StepKind;
  const std::vector<std::pair<StepKind, std::string>> steps{
      {StepKind::board_voltage, "board-voltage"},
      {StepKind::reference, "reference"},
      {StepKind::control_open, "control-open"},
      {StepKind::control_short, "control-short"},
      {StepKind::contact, "contact"},
      {StepKind::continuity, "continuity"},
      {StepKind::isolation, "isolation"},
      {StepKind::isolation_by_current, "isolation-by-current"},
      {StepKind::resistance, "resistance"}};
  for (const auto& [kind, text] : steps) {
    EXPECT_EQ(word(kind), text);
    EXPECT_EQ(step_kind(text), kind);
  }
  const std::vector<std::pair<FindingKind, std::string>> findings{
      {FindingKind::open, "open"},
      {FindingKind::bridge, "bridge"},
      {FindingKind::high_resistance, "high-resistance"},
      {FindingKind::leakage, "leakage"}};
  for (const auto& [kind, text] : findings) {
    EXPECT_EQ(word(kind), text);
    EXPECT_EQ(finding_kind(text), kind);
  }
  using diagnose::WhyCannotTell;
  const std::vector<std::pair<WhyCannotTell, std::string>> whys{
      {WhyCannotTell::not_reached, "not-reached"},
      {WhyCannotTell::contact_unproven, "contact-unproven"},
      {WhyCannotTell::doubtful, "doubtful"},
      {WhyCannotTell::broken_off, "broken-off"},
      {WhyCannotTell::no_touch, "no-touch"},
      {WhyCannotTell::reopened, "reopened"}};
  for (const auto& [why, text] : whys) {
    EXPECT_EQ(word(why), text);
    EXPECT_EQ(name(why), text);  // as in the JSON
    EXPECT_EQ(why_cannot_tell(text), why);
  }
  EXPECT_EQ(verdict("pass"), diagnose::Verdict::pass);
  EXPECT_EQ(verdict("fail"), diagnose::Verdict::fail);
  EXPECT_EQ(verdict("incomplete"), diagnose::Verdict::incomplete);
  EXPECT_EQ(side("both"), Side::both);
  EXPECT_FALSE(step_kind("Open"));
  EXPECT_FALSE(verdict(""));
}

TEST(Words, OfEveryKindOfStepStandOnTheRecordsPage) {
  std::ifstream in(test::source_dir() / "docs/record.md");
  std::stringstream page;
  page << in.rdbuf();
  for (int k = 0; k <= static_cast<int>(plan::StepKind::resistance); ++k) {
    const std::string text(word(static_cast<plan::StepKind>(k)));
    EXPECT_NE(page.str().find("`" + text + "`"), std::string::npos) << text;
  }
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
