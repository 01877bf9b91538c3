// SPDX-License-Identifier: Apache-2.0
// Aperture macros: GLF 2023.08, 4.5. Areas are closed forms of plane geometry.
#include "tests/formats/gerber_support.hpp"

namespace isthmus::formats {
namespace {

constexpr double kPi = std::numbers::pi;

Object flash_of(const std::string& macro, const std::string& arguments = "") {
  const LayerImage image =
      image_of(mm_file("%AMSHAPE*" + macro + "%\n%ADD10SHAPE" + arguments + "*%\nD10*X0Y0D03*"));
  EXPECT_EQ(image.objects.size(), 1u);
  return image.objects.empty() ? Object{} : image.objects[0];
}
Box box(const Object& o) {
  Box all;
  for (const Polygon& polygon : o.shape) all.add(box_of(polygon.outer));
  return all;
}

TEST(GerberMacro, CircleTurnsAboutTheOrigin) {
  const Object o = flash_of("1,1,2,3,0,90*");
  EXPECT_NEAR(area_mm2(o), kPi, slack(2 * kPi));
  EXPECT_EQ(box(o), (Box{position_mm(-1, 2), position_mm(1, 4)}));
}

TEST(GerberMacro, LinesHaveSquareEnds) {
  EXPECT_EQ(box(flash_of("20,1,0.5,1,0,3,0,0*")),
            (Box{position_mm(1, -0.25), position_mm(3, 0.25)}));
  EXPECT_EQ(box(flash_of("2,1,0.5,1,0,3,0,90*")),
            (Box{position_mm(-0.25, 1), position_mm(0.25, 3)}));
  EXPECT_EQ(box(flash_of("21,1,2,1,3,0,90*")), (Box{position_mm(-0.5, 2), position_mm(0.5, 4)}));
  EXPECT_EQ(box(flash_of("22,1,2,1,3,0,0*")), (Box{position_mm(3, 0), position_mm(5, 1)}));
}

TEST(GerberMacro, OutlineAndPolygonHaveTheirAreas) {
  EXPECT_NEAR(area_mm2(flash_of("4,1,3,0,0,4,0,4,3,0,0,0*")), 6, 1e-9);
  EXPECT_NEAR(area_mm2(flash_of("4,1,3,0,0,4,3,4,0,0,0,30*")), 6, 1e-5);
  EXPECT_NEAR(area_mm2(flash_of("5,1,6,1,0,2,0*")), 1.5 * std::sqrt(3.0), 1e-5);
}

// Ring of 4 and 2 less a cross of bars 0.5 wide: each of the four arms takes the part of a strip of
// half-width h between two circles, 2 * (F(R) - F(r)), F(x) = (h sqrt(x^2 - h^2) + x^2 asin(h / x))
// / 2.
TEST(GerberMacro, ThermalIsARingCutByACross) {
  const Object o = flash_of("7,0,0,4,2,0.5,0*");
  EXPECT_EQ(o.shape.size(), 4u);
  const auto f = [](double x) {
    const double h = 0.25;
    return (h * std::sqrt(x * x - h * h) + x * x * std::asin(h / x)) / 2;
  };
  const double arm = 2 * (f(2) - f(1));
  EXPECT_NEAR(area_mm2(o), kPi * (4 - 1) - 4 * arm, slack(6 * kPi));
}

TEST(GerberMacro, MoireIsRingsAndACross) {
  // Rings 4..3 and 2..1 (gap 0.5), no cross: pi (4 - 2.25 + 1 - 0.25); then with a bar of 0.01 x 6.
  EXPECT_NEAR(area_mm2(flash_of("6,0,0,4,0.5,0.5,2,0,0,0*")), kPi * 2.5, slack(2 * kPi * 5));
  const Object o = flash_of("6,0,0,4,0.5,0.5,2,0.01,6,0*");
  EXPECT_EQ(box(o), (Box{position_mm(-3, -3), position_mm(3, 3)}));
}

TEST(GerberMacro, ExposureOffErasesWhatWasPaintedBefore) {
  const Object o = flash_of("1,1,4,0,0*1,0,2,0,0*1,1,1,0,0*");
  EXPECT_EQ(o.shape.size(), 2u);
  EXPECT_NEAR(area_mm2(o), kPi * (4 - 1 + 0.25), slack(8 * kPi));
}

// GLF 2023.08, 4.4.6: what a macro erases stays within the macro.
TEST(GerberMacro, ErasesNothingBeneath) {
  const LayerImage image = image_of(
      mm_file("%AMRING*1,1,4,0,0*1,0,2,0,0*%%ADD10RING*%%ADD11R,6X0.5*%D11*X0Y0D03*D10*X0Y0D03*"));
  const double bar_outside =
      area_mm2(gerber::subtract(image.objects[0].shape, image.objects[1].shape));
  EXPECT_NEAR(area_mm2(painted(image)), bar_outside + kPi * 3, slack(8 * kPi));
}

TEST(GerberMacro, OverlappingPrimitivesCountOnce) {
  EXPECT_NEAR(area_mm2(flash_of("21,1,2,1,0,0,0*21,1,1,2,0,0,0*")), 3, 1e-9);
}

// x and / before + and -, left to right; undefined variables are 0: GLF 2023.08, 4.5.4.
TEST(GerberMacro, ComputesExpressions) {
  EXPECT_EQ(box(flash_of("21,1,$1+1x2,($1+1)X2,0,0,0*", ",2")),
            (Box{position_mm(-2, -3), position_mm(2, 3)}));
  EXPECT_EQ(box(flash_of("$3=$1/2*$3=$3-1*\n0 a comment $9\n* 21,1,$3,-$2+4,$7,0,0*", ",8X-2")),
            (Box{position_mm(-1.5, -3), position_mm(1.5, 3)}));
  EXPECT_EQ(box(flash_of("21,1,8/2/2,10-4-2,0,0,0*")),
            (Box{position_mm(-1, -2), position_mm(1, 2)}));
}

TEST(GerberMacro, MayLeaveTheRotationOut) {
  EXPECT_EQ(box(flash_of("21,1,2,1,0,0*")), (Box{position_mm(-1, -0.5), position_mm(1, 0.5)}));
}

TEST(GerberMacro, FlashTellsItsLeastWidth) {
  EXPECT_NEAR(to_mm(flash_of("21,1,3,1,0,0,30*").width), 1, 1e-5);
}

struct BadMacro {
  const char* what;
  const char* body;
  const char* code;
};
class GerberMacroErrors : public testing::TestWithParam<BadMacro> {};

TEST_P(GerberMacroErrors, AreTold) {
  const Problem p = problem_of(
      mm_file(std::string("%AMBAD*\n") + GetParam().body + "*%\n%ADD10BAD*%\nD10*X0Y0D03*"));
  EXPECT_EQ(p.code, GetParam().code);
  EXPECT_EQ(p.line, 4);
}

INSTANTIATE_TEST_SUITE_P(Bodies, GerberMacroErrors,
                         testing::Values(BadMacro{"unknown", "9,1,1,1", "GBR-032"},
                                         BadMacro{"short", "1,1,1", "GBR-032"},
                                         BadMacro{"exposure", "1,2,1,0,0", "GBR-032"},
                                         BadMacro{"corners", "5,1,13,0,0,1,0", "GBR-032"},
                                         BadMacro{"outline", "4,1,3,0,0,1,1,0,0,0", "GBR-032"},
                                         BadMacro{"negative", "1,1,-1,0,0", "GBR-032"},
                                         BadMacro{"thermal", "7,0,0,1,2,0.1,0", "GBR-032"},
                                         BadMacro{"huge", "1,1,1,99999,0", "GBR-032"},
                                         BadMacro{"zero", "1,1,1/0,0,0", "GBR-031"},
                                         BadMacro{"bracket", "1,1,(1,0,0", "GBR-031"},
                                         BadMacro{"empty", "1,1,,0,0", "GBR-031"},
                                         BadMacro{"variable", "1,1,$,0,0", "GBR-031"},
                                         BadMacro{"assignment", "$1+2", "GBR-031"},
                                         BadMacro{"text", "1,1,a,0,0", "GBR-031"}),
                         [](const testing::TestParamInfo<BadMacro>& tested) {
                           return tested.param.what;
                         });

TEST(GerberMacro, NestedTooDeeplyIsAnError) {
  const std::string deep(10000, '(');
  EXPECT_EQ(problem_of(mm_file("%AMD*1,1," + deep + "1,0,0*%%ADD10D*%D10*X0Y0D03*")).code,
            "GBR-031");
}

TEST(GerberMacro, OpenOutlineIsClosedAndTold) {
  const Noted n = noted(mm_file("%AMOPEN*4,1,3,0,0,4,0,4,3,0,3,0*%%ADD10OPEN*%D10*X0Y0D03*"));
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-033"});
  EXPECT_NEAR(area_mm2(n.image.objects[0]), 12, 1e-9);
}

}  // namespace
}  // namespace isthmus::formats
