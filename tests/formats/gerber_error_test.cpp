// SPDX-License-Identifier: Apache-2.0
// What is refused, and how it is said.
#include "tests/formats/gerber_support.hpp"

namespace isthmus::formats {
namespace {

const std::string kHead = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.5*%\nD10*\n";

TEST(GerberErrors, ShowThePlaceTheLineAndWhatToDo) {
  const Problem p = problem_of(kHead + "X0Y0D02*\nX1000000Y1000000D01*\n  D17*\nM02*\n");
  EXPECT_EQ(
      format(p),
      "layer.gbr:7:3: error GBR-025: aperture D17 is not defined\n"
      "    D17*\n"
      "    ^\n"
      "  hint: the file must define it with %AD before; files with a separate list of apertures "
      "(RS-274-D) are not read: export as RS-274X");
}

TEST(GerberErrors, SayThatTheFileIsCutShort) {
  const Problem p = problem_of(kHead + "X0Y0D03*\n");
  EXPECT_EQ(p.code, "GBR-002");
  EXPECT_EQ(p.line, 6);
  EXPECT_EQ(p.message, "the file is cut short: its end mark M02 is missing");
}

// A file cut at any byte is refused, never read in part: GLF 2023.08, 4.13.
TEST(GerberErrors, RefuseEveryTruncation) {
  const std::string whole =
      "%FSLAX46Y46*%\n%MOMM*%\n%AMD*1,1,$1,0,0*%\n%ADD10D,0.5*%\n%ADD11C,1*%\n%SRX2Y1I2J0*%\n"
      "G75*\nD10*\nX0Y0D03*\nD11*\nX1Y1D02*\nG03X2000000Y0I1000000J0D01*\n%SR*%\n"
      "G36*\nX0Y0D02*\nX5Y5000000D01*\nX2000000D01*\nX0Y0D01*\nG37*\nM02*";
  Diagnostics notes;
  ASSERT_TRUE(read_gerber(whole, "layer.gbr", notes).ok());
  for (std::size_t length = 0; length + 1 < whole.size(); ++length) {
    EXPECT_FALSE(read_gerber(whole.substr(0, length), "layer.gbr", notes).ok()) << length;
  }
}

struct Bad {
  const char* what;
  std::string text;
  const char* code;
  int line, column;
};
class GerberErrorTable : public testing::TestWithParam<Bad> {};

TEST_P(GerberErrorTable, IsTold) {
  const Problem p = problem_of(GetParam().text);
  EXPECT_EQ(p.code, GetParam().code) << format(p);
  EXPECT_EQ(p.line, GetParam().line) << format(p);
  EXPECT_EQ(p.column, GetParam().column) << format(p);
  EXPECT_FALSE(p.message.empty() || p.hint.empty());
  EXPECT_EQ(p.file, "layer.gbr");
}

std::string nested_blocks() {
  std::string text = "%FSLAX46Y46*%%MOMM*%\n";
  for (int i = 0; i < 17; ++i) text += "%ABD" + std::to_string(20 + i) + "*%\n";
  return text;
}

std::string long_region() {
  std::string text = "%FSLAX46Y46*%%MOMM*%\nG36*X0Y0D02*\n";
  for (int i = 0; i < 100001; ++i) text += "X" + std::to_string(i) + "D01*\n";
  return text;
}

std::string tangle() {
  std::string text = "%FSLAX46Y46*%%MOMM*%\nG36*X0Y0D02*\n";
  for (int i = 0; i < 2000; ++i) {
    text += "X0Y" + std::to_string(i) + "D01*X9000000Y" + std::to_string(9000000 - i) + "D01*";
  }
  return text + "\nG37*M02*";
}

INSTANTIATE_TEST_SUITE_P(
    Files, GerberErrorTable,
    testing::Values(
        Bad{"empty", "", "GBR-001", 1, 1}, Bad{"blank", "\n \n", "GBR-001", 1, 1},
        Bad{"binary", std::string("PK\3\4\0\0", 6), "GBR-001", 1, 5},
        Bad{"text", "Dear harbour master,\n", "GBR-001", 1, 1},
        Bad{"drill", "M48\nMETRIC,TZ\nT1C0.8\n%\nT1\nX1Y1\nM30\n", "GBR-001", 1, 1},
        Bad{"percent", "%FSLAX46Y46*%\n%MOMM*\nG04 x*\n", "GBR-002", 2, 1},
        Bad{"comment", "%FSLAX46Y46*%\nG04 no end\n", "GBR-002", 3, 1},
        Bad{"number", kHead + "X12Y-D03*M02*", "GBR-010", 5, 6},
        Bad{"point", kHead + "X1.5Y2D03*M02*", "GBR-010", 5, 3},
        Bad{"long_number", kHead + "X1234567890123456789Y2D03*M02*", "GBR-010", 5, 20},
        Bad{"dcode", kHead + "X1Y1D*M02*", "GBR-010", 5, 6},
        Bad{"no_units", "%FSLAX46Y46*%\n%ADD10C,1*%\nD10*\nX0Y0D03*\nM02*", "GBR-011", 4, 1},
        Bad{"bad_units", "%MOCM*%\n", "GBR-011", 1, 2},
        Bad{"no_format", "%MOMM*%\n%ADD10C,1*%\nD10*\nX0Y0D03*\nM02*", "GBR-012", 4, 1},
        Bad{"bad_format", "%FSLAX46*%\n", "GBR-012", 1, 2},
        Bad{"format_digit", "%FSLAX96Y96*%\n", "GBR-012", 1, 2},
        Bad{"far", kHead + "X1070000001Y0D03*M02*", "GBR-013", 5, 1},
        Bad{"far_by_steps", kHead + "G91*X1070000000Y0D02*\nX1Y0D03*M02*", "GBR-013", 6, 1},
        Bad{"far_by_size", kHead + "X1069900000Y0D03*M02*", "GBR-013", 5, 1},
        Bad{"far_repeat", kHead + "%SRX3Y1I1100J0*%\n", "GBR-013", 5, 2},
        Bad{"no_star", "%FSLAX46Y46%\n%MOMM*%", "GBR-014", 1, 12},
        Bad{"no_star_data", kHead + "X0Y0D03\n%LPC*%", "GBR-014", 6, 1},
        Bad{"letter", kHead + "X0Y0Q7*M02*", "GBR-016", 5, 5},
        Bad{"gcode", kHead + "G99*M02*", "GBR-016", 5, 1},
        Bad{"low_dcode", kHead + "D05*M02*", "GBR-016", 5, 1},
        Bad{"aperture_form", "%MOMM*%\n%ADD10C;1*%\n", "GBR-020", 2, 8},
        Bad{"aperture_number", "%MOMM*%\n%ADDxC,1*%\n", "GBR-020", 2, 5},
        Bad{"aperture_value", "%MOMM*%\n%ADD10C,1Xq*%\n", "GBR-020", 2, 11},
        Bad{"aperture_nan", "%MOMM*%\n%ADD10C,nan*%\n", "GBR-020", 2, 9},
        Bad{"aperture_negative", "%MOMM*%\n%ADD10C,-1*%\n", "GBR-020", 2, 4},
        Bad{"aperture_sizes", "%MOMM*%\n%ADD10R,1*%\n", "GBR-020", 2, 4},
        Bad{"aperture_corners", "%MOMM*%\n%ADD10P,1X2.5*%\n", "GBR-020", 2, 4},
        Bad{"aperture_low", "%MOMM*%\n%ADD9C,1*%\n", "GBR-021", 2, 4},
        Bad{"no_macro", "%MOMM*%\n%ADD10PAD,1*%\n", "GBR-023", 2, 7},
        Bad{"aperture_large", kHead + "%ADD11C,1100*%\nD11*X0Y0D03*M02*", "GBR-024", 5, 4},
        Bad{"unknown_aperture", kHead + "D11*M02*", "GBR-025", 5, 1},
        Bad{"nothing_selected", "%FSLAX46Y46*%%MOMM*%\nX0Y0D03*M02*", "GBR-026", 2, 1},
        Bad{"block_stroke", kHead + "%ABD12*%X0Y0D03*%AB*%D12*X0Y0D02*\nX1Y1D01*M02*", "GBR-027", 6,
            1},
        Bad{"macro_name", "%MOMM*%\n%AM*1,1,1,0,0*%\n", "GBR-030", 2, 4},
        Bad{"flash_in_region", kHead + "G36*\nX0Y0D03*G37*M02*", "GBR-040", 6, 1},
        Bad{"region_in_region", kHead + "G36*\nG36*M02*", "GBR-040", 6, 1},
        Bad{"no_region", kHead + "G37*M02*", "GBR-040", 5, 1},
        Bad{"polarity_in_region", kHead + "G36*\n%LPC*%M02*", "GBR-040", 6, 2},
        Bad{"no_quadrants", kHead + "X0Y0D02*\nG02X1Y1I1J0D01*M02*", "GBR-047", 6, 4},
        Bad{"no_quarter", kHead + "G74*X0Y0D02*\nG02X2000000Y0I1000000J0D01*M02*", "GBR-048", 6, 4},
        Bad{"polarity", kHead + "%LPX*%M02*", "GBR-050", 5, 2},
        Bad{"mirror", kHead + "%LMZ*%M02*", "GBR-050", 5, 2},
        Bad{"rotation", kHead + "%LRx*%M02*", "GBR-050", 5, 2},
        Bad{"scale", kHead + "%LS0*%M02*", "GBR-050", 5, 2},
        Bad{"repeat", kHead + "%SRX0Y1I1J1*%M02*", "GBR-051", 5, 2},
        Bad{"repeat_in_block", kHead + "%ABD12*%\n%SRX2Y1I1J1*%", "GBR-051", 6, 2},
        Bad{"block_in_repeat", kHead + "%SRX2Y1I1J1*%\n%ABD12*%", "GBR-051", 6, 2},
        Bad{"block_open", kHead + "%ABD12*%\nM02*", "GBR-051", 5, 2},
        Bad{"block_end", kHead + "%AB*%M02*", "GBR-051", 5, 2},
        Bad{"block_code", kHead + "%ABD1*%M02*", "GBR-051", 5, 2},
        Bad{"block_in_itself", kHead + "%ABD12*%\nD12*X0Y0D03*%AB*%M02*", "GBR-025", 6, 1},
        Bad{"two_units", kHead + "%MOIN*%M02*", "GBR-055", 5, 2},
        Bad{"two_formats", kHead + "%FSLAX45Y45*%M02*", "GBR-055", 5, 2},
        Bad{"negative_image", kHead + "%IPNEG*%M02*", "GBR-056", 5, 2},
        Bad{"axes", kHead + "%ASAYBX*%M02*", "GBR-056", 5, 2},
        Bad{"turned", kHead + "%IR90*%M02*", "GBR-056", 5, 2},
        Bad{"mirrored", kHead + "%MIA1B0*%M02*", "GBR-056", 5, 2},
        Bad{"moved", kHead + "%OFA1.0B0*%M02*", "GBR-056", 5, 2},
        Bad{"scaled", kHead + "%SFA2B1*%M02*", "GBR-056", 5, 2},
        Bad{"included", kHead + "%IFother.gbr*%M02*", "GBR-056", 5, 2},
        Bad{"attribute", kHead + "%TA*%M02*", "GBR-060", 5, 2},
        Bad{"region_size", long_region(), "GBR-070", 100003, 1},
        Bad{"objects", kHead + "%SRX3000Y2000I0.1J0.1*%\nX0Y0D03*%SR*%M02*", "GBR-071", 5, 2},
        Bad{"tangle", tangle(), "GBR-073", 4, 1},
        Bad{"huge_hole", kHead + "%ADD11C,1X99999999999*%\nD11*X0Y0D03*M02*", "GBR-024", 5, 4},
        Bad{"huge_blocks",
            kHead + "%LS1000*%%ABD20*%X1069000000Y0D02*D10*X1000000D02*%AB*%\n"
                    "%ADD11C,0*%%ABD21*%D11*X1000000Y0D03*%AB*%%ABD22*%D21*X0Y0D03*%AB*%\n"
                    "D22*X0Y0D03*M02*",
            "GBR-013", 7, 5},
        Bad{"nesting", nested_blocks(), "GBR-072", 18, 2}),
    [](const testing::TestParamInfo<Bad>& tested) { return tested.param.what; });

TEST(GerberErrors, BlocksWithinBlocksStopAtTheLimit) {
  std::string text = kHead + "%ADD11C,0*%%ABD20*%D11*";
  for (int i = 0; i < 2000; ++i) text += "X0Y0D03*";
  text += "%AB*%%ABD21*%D20*";
  for (int i = 0; i < 1000; ++i) text += "X0Y0D03*";
  EXPECT_EQ(problem_of(text + "%AB*%D21*X0Y0D03*M02*").code, "GBR-071");
}

TEST(GerberWarnings, TellWhatWasAssumed) {
  using Codes = std::vector<std::string>;
  EXPECT_EQ(noted(kHead + "X1Y1D01*M02*").codes, Codes{"GBR-028"});
  EXPECT_EQ(noted(kHead + "x1y1d03*M02*").codes, (Codes{"GBR-015", "GBR-015", "GBR-015"}));
  EXPECT_EQ(noted(kHead + "G00X1Y1D03*M02*").codes, Codes{"GBR-017"});
  EXPECT_EQ(noted(kHead + "X1Y1*M02*").codes, Codes{"GBR-019"});
  EXPECT_EQ(noted(kHead + "%ADD10C,2*%D10*X1Y1D03*M02*").codes, Codes{"GBR-022"});
  EXPECT_EQ(noted(kHead + "%ADD11C,2X*%M02*").codes, Codes{"GBR-029"});
  EXPECT_EQ(noted(kHead + "G36*X0Y0D02*X9000000D01*Y9000000D01*X0Y0D01*M02*").codes,
            Codes{"GBR-041"});
  EXPECT_EQ(noted(kHead + "G36*D10*X0Y0D02*X9000000D01*Y9000000D01*X0Y0D01*G37*M02*").codes,
            Codes{"GBR-046"});
  EXPECT_EQ(noted("%FSDAX46Y46*%M02*").codes, Codes{"GBR-053"});
  EXPECT_EQ(noted("%FSLIX46Y46*%M02*").codes, Codes{"GBR-054"});
  EXPECT_EQ(noted(kHead + "G75*X0Y0D02*G03X5000000Y5000000I1000000J0D01*M02*").codes,
            Codes{"GBR-048"});
}

}  // namespace
}  // namespace isthmus::formats
