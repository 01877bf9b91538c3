// SPDX-License-Identifier: Apache-2.0
// Oracle: RFC 3629 (UTF-8), its examples of what is no UTF-8; ISO/IEC 6429 (control characters).
#include "isthmus/formats/names.hpp"

#include <gtest/gtest.h>

namespace isthmus::formats {
namespace {

TEST(UnfitAsName, NothingStandsAgainstWhatPeopleWrite) {
  for (const char* name : {"TG-001", "Pegel 3", "m\xC3\xA5ler", "\xE6\xBD\xAE\xE4\xBD\x8D",
                           "\xF0\x9F\x8C\x8A", "\xEF\xBF\xBD", "\xF4\x8F\xBF\xBF"})
    EXPECT_EQ(unfit_as_name(name), "") << name;
  EXPECT_EQ(unfit_as_name(std::string(255, 'a')), "");
}

TEST(UnfitAsName, SaysWhyOfTheRest) {
  EXPECT_EQ(unfit_as_name(""), "a name must not be empty");
  EXPECT_EQ(unfit_as_name(" \t"), "a name must not be empty");
  EXPECT_EQ(unfit_as_name(std::string(100'000, 'a')),
            "a name of 100000 bytes is too long: 255 at most");
  for (const char* name : {"a\nb", "a\rb", "\x1B[2J", "\x7F", "\xC2\x85"})
    EXPECT_EQ(unfit_as_name(name), "a name must not hold line feeds or other control characters");
  EXPECT_EQ(unfit_as_name(std::string("a\0b", 3)),
            "a name must not hold line feeds or other control characters");
}

// Section 10 (overlong forms), section 3 (surrogates, above U+10FFFF), a lone byte, a cut one.
TEST(UnfitAsName, RefusesWhatIsNoUtf8) {
  for (const char* name : {"a\xFF", "\xC0\x80", "\xE0\x80\x80", "\xF0\x80\x80\x80", "\xED\xA0\x80",
                           "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\x80", "\xC3", "\xE2\x82"})
    EXPECT_EQ(unfit_as_name(name), "the name is not UTF-8");
}

}  // namespace
}  // namespace isthmus::formats
