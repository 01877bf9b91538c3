// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/quantity.hpp"

#include <gtest/gtest.h>

#include <random>

namespace isthmus::formats {
namespace {

// SI prefixes: SI Brochure, 9th edition, table 7. The inch is 25.4 mm exactly (international inch).
TEST(ParseLength, KnowsEveryUnit) {
  EXPECT_EQ(*parse_length("35 um"), 35_um);
  EXPECT_EQ(*parse_length("0.2 mm"), 200_um);
  EXPECT_EQ(*parse_length("0.2mm"), 200_um);
  EXPECT_EQ(*parse_length("1 cm"), 10_mm);
  EXPECT_EQ(*parse_length("1 m"), 1000_mm);
  EXPECT_EQ(*parse_length("10 mil"), 254_um);
  EXPECT_EQ(*parse_length("1 inch"), 25400_um);
  EXPECT_EQ(*parse_length("0.5 in"), 12700_um);
  EXPECT_EQ(*parse_length("7 nm"), 7_nm);
  EXPECT_EQ(*parse_length("-1e-1 mm"), Nanometres{-100'000});
}

TEST(ParseResistance, KeepsMegaAndMilliApart) {
  EXPECT_EQ(parse_resistance("10 Mohm")->value, 1e7);
  EXPECT_EQ(parse_resistance("10 mohm")->value, 0.01);
  EXPECT_EQ(parse_resistance("2.5 kohm")->value, 2500);
  EXPECT_EQ(parse_resistance("1 Gohm")->value, 1e9);
  EXPECT_EQ(parse_resistance("5 uohm")->value, 5e-6);
}

TEST(ParseVoltageAndCurrent, KnowTheirUnits) {
  EXPECT_EQ(parse_voltage("10 V")->value, 10);
  EXPECT_EQ(parse_voltage("20 uV")->value, 20e-6);
  EXPECT_EQ(parse_current("100 mA")->value, 0.1);
  EXPECT_EQ(parse_current("3 nA")->value, 3e-9);
}

// Zero degrees Celsius is 273.15 K by definition (SI Brochure, 2.3.1).
TEST(ParseTemperature, TurnsKelvinIntoCelsius) {
  EXPECT_EQ(parse_temperature("20 degC")->value, 20);
  EXPECT_NEAR(parse_temperature("293.15 K")->value, 20, 1e-12);
  EXPECT_EQ(parse_temperature("-1 K").problem().code, "YML-012");
}

struct Bad {
  const char *text, *code;
};
class BadLength : public testing::TestWithParam<Bad> {};
TEST_P(BadLength, IsRefusedWithItsCode) {
  EXPECT_EQ(parse_length(GetParam().text).problem().code, GetParam().code);
}
INSTANTIATE_TEST_SUITE_P(All, BadLength,
                         testing::Values(Bad{"35", "YML-005"}, Bad{"35 ohm", "YML-006"},
                                         Bad{"35 MM", "YML-006"}, Bad{"35 um x", "YML-006"},
                                         Bad{"", "YML-007"}, Bad{"um", "YML-007"},
                                         Bad{"nan mm", "YML-007"}, Bad{"inf mm", "YML-007"},
                                         Bad{"1.2.3 mm", "YML-007"}, Bad{"1e999 mm", "YML-007"},
                                         Bad{"2 m", "YML-012"}, Bad{"1e300 mm", "YML-012"},
                                         Bad{"--1 mm", "YML-007"}, Bad{"0x10 mm", "YML-006"}));

TEST(ParseLength, SaysSoOfADecimalComma) {
  const Problem p = parse_length("0,25 mm").problem();
  EXPECT_EQ(p.code, "YML-007");
  EXPECT_EQ(p.message, "'0,25 mm' has a decimal comma");
  EXPECT_EQ(p.hint, "decimals take a point: '0.25 mm'");
}

TEST(TextOf, UsesTheHandiestUnit) {
  EXPECT_EQ(text_of(200_um), "0.2 mm");
  EXPECT_EQ(text_of(35_um), "35 um");
  EXPECT_EQ(text_of(1270_um), "1.27 mm");
  EXPECT_EQ(text_of(Nanometres{-12'345'678}), "-12.345678 mm");
  EXPECT_EQ(text_of(0_nm), "0 um");
  EXPECT_EQ(text_of(Ohms{1e7}), "10 Mohm");
  EXPECT_EQ(text_of(Ohms{0.05}), "50 mohm");
  EXPECT_EQ(text_of(Ohms{0}), "0 ohm");
  EXPECT_EQ(text_of(Volts{10}), "10 V");
  EXPECT_EQ(text_of(Amperes{0.1}), "100 mA");
  EXPECT_EQ(text_of(Celsius{20}), "20 degC");
}

TEST(TextOf, ParsesBackToTheSameValue) {
  std::mt19937_64 random(1);
  std::uniform_real_distribution<double> exponent(-6, 11);
  std::uniform_int_distribution<std::int64_t> length(-kMaxCoordinate, kMaxCoordinate);
  for (int i = 0; i < 2000; ++i) {
    const Ohms r{std::pow(10.0, exponent(random))};
    EXPECT_EQ(*parse_resistance(text_of(r)), r) << text_of(r);
    const Volts v{r.value};
    EXPECT_EQ(*parse_voltage(text_of(v)), v) << text_of(v);
    const Nanometres n{length(random) >> (i % 30)};
    EXPECT_EQ(*parse_length(text_of(n)), n) << text_of(n);
  }
}

}  // namespace
}  // namespace isthmus::formats
