// SPDX-License-Identifier: Apache-2.0
// Grammar: docs/adapter.md; SCPI-1999 vol. 1, 6.2.4 and 8.3.2.
#include "hostsim/device/scpi.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace isthmus::hostsim {
namespace {

Unit only_unit(const std::string& text) {
  const auto units = parse_message(text);
  EXPECT_EQ(units.size(), 1u) << text;
  return units.empty() ? Unit{} : units[0];
}

using Words = std::vector<std::string>;

TEST(ScpiMessage, SplitsUnitsAtSemicolons) {
  const auto units = parse_message(":SYST:TAG 16;:MEAS:CONT?;*CLS");
  ASSERT_EQ(units.size(), 3u);
  EXPECT_EQ(units[0].keywords, (Words{"SYST", "TAG"}));
  EXPECT_TRUE(units[1].query);
  EXPECT_TRUE(units[2].common);
}

TEST(ScpiMessage, KeepsASemicolonInsideAString) {
  const Unit u = only_unit(R"(:SIM:PLAC "A;B")");
  ASSERT_EQ(u.arguments.size(), 1u);
  EXPECT_EQ(u.arguments[0].text, "A;B");
}

TEST(ScpiMessage, ReadsADoubledQuoteAsOne) {
  EXPECT_EQ(only_unit(R"(:SIM:PLAC "a""b")").arguments.at(0).text, "a\"b");
}

TEST(ScpiMessage, TellsTooSmallFromTooLarge) {
  const Unit u = only_unit(":SOUR:VOLT 1E-999,-1E-999,1E999,-1E999");
  ASSERT_EQ(u.arguments.size(), 4u);
  EXPECT_EQ(u.arguments[0].number, 0);
  EXPECT_EQ(u.arguments[1].number, 0);
  EXPECT_EQ(u.arguments[2].number, INFINITY);
  EXPECT_EQ(u.arguments[3].number, -INFINITY);
}

TEST(ScpiMessage, OfBlanksHasNoUnits) { EXPECT_TRUE(parse_message(" \t ").empty()); }

TEST(ScpiMessage, RefusesAnEmptyUnitAndReadsTheNext) {
  const auto units = parse_message("*CLS;;*RST");
  ASSERT_EQ(units.size(), 3u);
  EXPECT_EQ(units[1].error, -102);
  EXPECT_EQ(units[2].error, 0);
}

TEST(ScpiMessage, KnowsRootedFromRelative) {
  EXPECT_TRUE(only_unit(":SYST:TAG 1").rooted);
  EXPECT_FALSE(only_unit("TAG 1").rooted);
}

TEST(ScpiNumber, TakesEveryNrfForm) {
  for (const char* text : {"5", "+5", "5.", "5.0", "50E-1", ".5e+1", "0.5E1"}) {
    EXPECT_DOUBLE_EQ(only_unit(std::string("X ") + text).arguments.at(0).number, 5.0) << text;
  }
  EXPECT_DOUBLE_EQ(only_unit("X -2.5").arguments.at(0).number, -2.5);
}

TEST(ScpiNumber, BeyondADoubleIsInfinite) {
  EXPECT_TRUE(std::isinf(only_unit("X 1E999").arguments.at(0).number));
}

TEST(ScpiList, ReadsSinglesAndBlocks) {
  const Unit u = only_unit("ROUT:CLOS (@1!5, 1!1:2!3)");
  ASSERT_EQ(u.arguments.size(), 1u);
  EXPECT_EQ(u.arguments[0].list, (std::vector<ListEntry>{{1, 5, 1, 5}, {1, 1, 2, 3}}));
}

TEST(ScpiSyntax, RefusesWhatTheGrammarDoesNotHave) {
  for (const char* text :
       {"X 1,", "X (@)", "X (@1)", "X (@1!)", "X (@1!2", "X \"a", "X 1 2", "X 1E", "X #5", "?", ":",
        "SYST::TAG 1", "X?5", "X (@1!2:3)", "X .", "1X", "X\x01"}) {
    EXPECT_EQ(only_unit(text).error, -102) << text;
  }
}

TEST(ScpiSyntax, KeepsTheHeaderOfAFaultyUnit) {
  const Unit u = only_unit(":MEAS:ISOL? (@");
  EXPECT_EQ(u.keywords, (Words{"MEAS", "ISOL"}));
  EXPECT_TRUE(u.query);
}

TEST(ScpiKeyword, MatchesShortAndLongFormsOnly) {
  for (const char* word : {"SYST", "syst", "SYSTem", "SYSTEM"})
    EXPECT_TRUE(matches_keyword("SYSTem", word)) << word;
  for (const char* word : {"SYS", "SYSTE", "SYSTEMS", ""})
    EXPECT_FALSE(matches_keyword("SYSTem", word)) << word;
  EXPECT_TRUE(matches_keyword("TAG", "tag"));
}

}  // namespace
}  // namespace isthmus::hostsim
