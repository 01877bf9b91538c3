// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/drill.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

Result<DrillFile> read(const std::string& text, Diagnostics& notes) {
  return read_drill(text, "h.drl", notes);
}
Result<DrillFile> read(const std::string& text) {
  Diagnostics notes;
  return read(text, notes);
}
DrillFile good(const std::string& text) {
  Result<DrillFile> r = read(text);
  if (r.ok()) return *r;
  ADD_FAILURE() << format(r.problem());
  return {};
}
bool remarked(const Diagnostics& notes, const std::string& code) {
  return std::any_of(notes.list().begin(), notes.list().end(),
                     [&](const Diagnostic& d) { return d.what.code == code; });
}
const std::string kHead = "M48\nMETRIC\nT1C0.8\nT2C1.2\n%\nG90\nG05\n";

TEST(DrillReader, ReadsHolesWithTheirTools) {
  const DrillFile f = good(kHead + "T1\nX1.5Y-2.25\nY3\nT2\nX10.0\nT0\nM30\n");
  ASSERT_EQ(f.holes.size(), 3u);
  EXPECT_EQ(f.holes[0].from, position_mm(1.5, -2.25));
  EXPECT_EQ(f.holes[0].diameter, 800_um);
  EXPECT_FALSE(f.holes[0].is_slot());
  EXPECT_FALSE(f.holes[0].plated);
  EXPECT_EQ(f.holes[1].from.x, position_mm(1.5, 0).x);
  EXPECT_EQ(f.holes[2].diameter, 1200_um);
  EXPECT_EQ(f.holes[2].line, 12);
}

// Excellon CNC-7 manual: LZ keeps leading zeros (fill on the right), TZ keeps trailing ones.
struct Number {
  const char *head, *x;
  std::int64_t nm;
  bool declared;
};
void PrintTo(const Number& n, std::ostream* out) { *out << n.head << " X" << n.x; }
class Numbers : public testing::TestWithParam<Number> {};
TEST_P(Numbers, AreReadAsDeclared) {
  const Number& n = GetParam();
  const DrillFile f =
      good(std::string("M48\n") + n.head + "\nT1C0.03\n%\nT1\nX" + n.x + "Y0\nM30\n");
  ASSERT_EQ(f.holes.size(), 1u);
  EXPECT_EQ(f.holes[0].from.x, n.nm);
  EXPECT_EQ(f.format_declared, n.declared);
}
INSTANTIATE_TEST_SUITE_P(
    All, Numbers,
    testing::Values(Number{"INCH,LZ", "001", 2'540'000, false},
                    Number{"INCH,TZ", "01000", 2'540'000, false},
                    Number{"INCH,TZ,00.000", "01000", 25'400'000, true},
                    Number{"METRIC,TZ,000.000", "25679", 25'679'000, true},
                    Number{"METRIC,0000.00", "004398", 43'980'000, true},
                    Number{"METRIC,LZ", "0185225", 18'522'500, false},
                    Number{";FILE_FORMAT=4:4\nMETRIC,LZ", "0185225", 185'225'000, true},
                    Number{";FILE_FORMAT=2:5\nINCH,LZ", "0137795", 34'999'930, true},
                    Number{";FORMAT={3:3/ absolute / metric / suppress leading zeros}\nMETRIC",
                           "12500", 12'500'000, true},
                    Number{"; Format  : 2.4 / Absolute / Inch / Trailing\nINCH,LZ", "000674",
                           171'196'000 / 100, true},
                    Number{"INCH,TZ", "+1.5", 38'100'000, true},
                    Number{"M71,TZ\nFMAT,2", "-33.975", -33'975'000, true},
                    Number{"METRIC", ".5", 500'000, true}));

TEST(DrillReader, OffersTheOtherFormatsWhenNoneIsDeclared) {
  const std::string text = "%\nM48\nM72\nT01C0.0236\n%\nT01\nX9250Y4064\nX12100Y5314\nM30\n";
  const DrillFile f = good(text);
  EXPECT_FALSE(f.format_declared);
  EXPECT_FALSE(f.zeros_declared);
  EXPECT_EQ(f.holes[0].from, (Position{23'495'000, 10'322'560}));
  EXPECT_EQ(f.candidates[0], (NumberFormat{2, 4, true}));
  EXPECT_GT(f.candidates.size(), 2u);
  Diagnostics notes;
  const Result<DrillFile> other = read_drill(text, "h.drl", notes, NumberFormat{2, 3, true});
  ASSERT_TRUE(other.ok());
  EXPECT_TRUE(other->format_declared);
  EXPECT_EQ(other->holes[0].from, (Position{234'950'000, 103'225'600}));
}

TEST(DrillReader, ReadsSlotsByG85) {
  const DrillFile f = good(kHead + "T1\nX1.0Y2.0G85X3.0\nX9.0\nM30\n");
  ASSERT_EQ(f.holes.size(), 2u);
  EXPECT_TRUE(f.holes[0].is_slot());
  EXPECT_EQ(f.holes[0].from, position_mm(1, 2));
  EXPECT_EQ(f.holes[0].to, position_mm(3, 2));
  EXPECT_FALSE(f.holes[1].is_slot());
}

TEST(DrillReader, ReadsRoutedSlotsLegByLeg) {
  const DrillFile f =
      good(kHead +
           "T1\nG00X1.0Y1.0\nM15\nG01X2.0\nG01Y3.0\nM16\nG00X5.0Y5.0\nM15\nG01X6.0\n"
           "M16\nG05\nX8.0Y8.0\nM30\n");
  ASSERT_EQ(f.holes.size(), 4u);
  EXPECT_EQ(f.holes[0].from, position_mm(1, 1));
  EXPECT_EQ(f.holes[1].to, position_mm(2, 3));
  EXPECT_EQ(f.holes[0].slot, f.holes[1].slot);
  EXPECT_NE(f.holes[1].slot, f.holes[2].slot);
  EXPECT_FALSE(f.holes[3].is_slot());
}

TEST(DrillReader, TakesAPlungeWithoutMoveAsAHole) {
  const DrillFile f = good(kHead + "T1\nG00X1.0Y1.0\nM15\nM16\nG00X2.0Y1.0\nM15\nT2\nM30\n");
  ASSERT_EQ(f.holes.size(), 2u);
  EXPECT_FALSE(f.holes[0].is_slot());
  EXPECT_EQ(f.holes[1].from, position_mm(2, 1));
  EXPECT_EQ(f.holes[1].diameter, 800_um);
}

// Oracle: every chord end lies on the circle, and the middle one at 45 degrees.
TEST(DrillReader, RoutesArcsByRadiusAndByCentre) {
  for (const char* arc : {"G02X2.0Y2.0A2.0", "G02X2.0Y2.0I2.0J0.0"}) {
    const DrillFile f = good(kHead + "T1\nG00X0.0Y0.0\nM15\n" + arc + "\nM16\nM30\n");
    ASSERT_GT(f.holes.size(), 10u) << arc;
    EXPECT_EQ(f.holes.back().to, position_mm(2, 2));
    for (const Hole& h : f.holes) EXPECT_NEAR(distance_nm(h.to, position_mm(2, 0)), 2e6, 1.0);
    const Position middle = f.holes[f.holes.size() / 2].from;
    EXPECT_NEAR(static_cast<double>(middle.x), 2e6 - 2e6 * std::sqrt(0.5), 1e5);
    EXPECT_GT(middle.y, 0);
  }
}

TEST(DrillReader, RepeatsHolesCumulatively) {
  const DrillFile f = good("M48\nINCH,TZ\nT01C0.050\n%\nT01\nX10000Y10000\nR5X-1000Y1500\nM30\n");
  ASSERT_EQ(f.holes.size(), 6u);
  EXPECT_EQ(f.holes[5].from, (Position{12'700'000, 44'450'000}));
}

TEST(DrillReader, ReadsIncrementsAndMovedZero) {
  const DrillFile f = good(kHead + "G91\nT1\nX1.0Y1.0\nX1.0\nG90\nX9.0Y9.0\nM30\n");
  EXPECT_EQ(f.holes[1].from, position_mm(2, 1));
  EXPECT_EQ(f.holes[2].from, position_mm(9, 9));
  Diagnostics notes;
  const Result<DrillFile> moved = read(kHead + "G93X10.0Y20.0\nT1\nX1.0Y1.0\nM30\n", notes);
  ASSERT_TRUE(moved.ok());
  EXPECT_EQ(moved->holes[0].from, position_mm(11, 21));
  EXPECT_TRUE(remarked(notes, "DRL-030"));
}

TEST(DrillReader, ReadsToolNumbersWithCompensationIndex) {
  const DrillFile f = good("M48\nMETRIC\nT03C0.8\nT100C0.9\n%\nT0302\nX1.0Y1.0\nT100\nX2.0\nM30\n");
  EXPECT_EQ(f.holes[0].diameter, 800_um);
  EXPECT_EQ(f.holes[1].diameter, 900_um);
}

TEST(DrillReader, TakesPlatingAndSpanFromTheFileFunction) {
  const DrillFile f =
      good("M48\n; #@! TF.FileFunction,Plated,1,2,Blind\nMETRIC\nT1C0.2\n%\nT1\nX1.0Y1.0\nM30\n");
  EXPECT_EQ(f.holes[0].plated, true);
  EXPECT_EQ(f.holes[0].span, (std::pair{1, 2}));
}

TEST(DrillReader, TakesPlatingOfEachToolFromComments) {
  const DrillFile types = good(
      "M48\nMETRIC\n;TYPE=PLATED\nT1C0.8\n;TYPE=NON_PLATED\nT2C3.2\n%\nT1\nX1.0Y1.0\nT2\nX2."
      "0\nM30\n");
  EXPECT_EQ(types.holes[0].plated, true);
  EXPECT_EQ(types.holes[1].plated, false);
  const DrillFile body =
      good("M48\nMETRIC\nT1C0.8\n%\n;TYPE=PLATED\nT1\nX1.0Y1.0\n;TYPE=NON_PLATED\nT1\nX2.0\nM30\n");
  EXPECT_EQ(body.holes[0].plated, true);
  EXPECT_EQ(body.holes[1].plated, false);
  const DrillFile mixed = good(
      "M48\n; #@! TF.FileFunction,MixedPlating,1,2\nMETRIC\n; #@! "
      "TA.AperFunction,Plated,PTH,ViaDrill\n"
      "T1C0.3\nT2C0.4\n; #@! TA.AperFunction,NonPlated,NPTH,MechanicalDrill\nT3C3.0\n%\n"
      "T1\nX1.0Y1.0\nT2\nX2.0\nT3\nX3.0\nM30\n");
  EXPECT_EQ(mixed.holes[0].plated, true);
  EXPECT_EQ(mixed.holes[1].plated, true);
  EXPECT_EQ(mixed.holes[2].plated, false);
}

TEST(DrillReader, ReadsAToolTableInComments) {
  const DrillFile f = good(
      "M48\nINCH\n; Holesize 1. = 31.0 Tolerance = +0.0/-0.0 PLATED MILS Quantity = "
      "1\n%\nT01\nX1.0Y1.0\n"
      "M30\n");
  EXPECT_EQ(f.holes[0].diameter, Nanometres{31 * 25400});
  EXPECT_EQ(f.holes[0].plated, true);
}

TEST(DrillReader, EndsAtM30InMidLine) {
  const DrillFile f = good(kHead + "T1\nX1.0Y1.0M30\nrubbish\n");
  EXPECT_EQ(f.holes.size(), 1u);
}

// Excellon CNC-7 manual, list of commands: none of these drills or moves.
TEST(DrillReader, PassesOverWhatMakesNoHole) {
  for (const char* line : {"%",      "G04X500", "G07", "G40",   "M01",    "M08",          "M18",
                           "M25",    "M31",     "M61", "M62",   "M63",    "M47,the tide", "; X9.0",
                           "(X9.0)", "N10",     "1/2", "VER,1", "ATC,ON", "SIXM",         "ZA"}) {
    Diagnostics notes;
    const Result<DrillFile> r = read(kHead + "T1\nX1.0Y1.0\n" + line + "\nX2.0\nM30\n", notes);
    ASSERT_TRUE(r.ok()) << format(r.problem());
    ASSERT_EQ(r->holes.size(), 2u) << line;
    EXPECT_EQ(r->holes[1].from, position_mm(2, 1)) << line;
    EXPECT_TRUE(notes.list().empty()) << line;
  }
  EXPECT_EQ(good("M48\nMETRIC\nT1C0.8F200S65B20H500Z-0.1\n%\nT1\nX1.0Y1.0\nM30\n").holes.size(),
            1u);
}

TEST(DrillReader, TakesAToolsDiameterInTheBody) {
  const DrillFile f = good(kHead + "T1\nX1.0Y1.0\nT5C0.9\nX2.0\nM30\n");
  EXPECT_EQ(f.holes[0].diameter, 800_um);
  EXPECT_EQ(f.holes[1].diameter, 900_um);
}

// Excellon CNC-7 manual: M00(X#Y#), M06(X#Y#), M09(X#Y#), M30(X#Y#): where the table goes.
TEST(DrillReader, TakesAPlaceAfterAStopForTheTables) {
  const DrillFile f = good(kHead + "T1\nX1.0Y1.0\nM06X50.0\nM09X50.0Y50.0\nX2.0\nM30X0Y0\n");
  ASSERT_EQ(f.holes.size(), 2u);
  EXPECT_EQ(f.holes[1].from, position_mm(2, 1));
  EXPECT_EQ(good(kHead + "T1\nX1.0Y1.0\nM00X9.0Y9.0\n").holes.size(), 1u);
}

// As one file of the wild has it: sizes in the header, M71 in the body.
TEST(DrillReader, WaitsWithToolSizesForTheUnit) {
  const DrillFile metric = good("M48\nT01C.864\n%\nG90\nM71\nG05\nT01\nX1.0Y1.0\nM30\n");
  ASSERT_EQ(metric.holes.size(), 1u);
  EXPECT_EQ(metric.holes[0].diameter, Nanometres{864'000});
  const DrillFile inch = good("T1C.032\nT2C.040\nM72\nT1\nX1.0Y1.0\nT2\nX2.0\nM30\n");
  ASSERT_EQ(inch.holes.size(), 2u);
  EXPECT_EQ(inch.holes[0].diameter, Nanometres{812'800});
  EXPECT_EQ(inch.holes[1].diameter, Nanometres{1'016'000});
}

// Words of the refusals: what each command does (Excellon CNC-7 manual, from memory).
class UnreadDrillCommands : public testing::TestWithParam<std::pair<const char*, const char*>> {};
TEST_P(UnreadDrillCommands, AreRefusedWithAReason) {
  const auto [line, reason] = GetParam();
  const Result<DrillFile> r = read(kHead + "T1\n  " + line + "\nM30\n");
  ASSERT_FALSE(r.ok()) << line;
  EXPECT_NE(r.problem().message.find(reason), std::string::npos) << format(r.problem());
  EXPECT_FALSE(r.problem().hint.empty());
  const std::size_t command = std::string(line).find_first_of("GMPR/");
  EXPECT_EQ(r.problem().column, static_cast<int>(command) + 3) << format(r.problem());
}
using Unread = std::pair<const char*, const char*>;
INSTANTIATE_TEST_SUITE_P(
    All, UnreadDrillCommands,
    testing::Values(Unread{"G32X1.0Y1.0A0.5", "circle"}, Unread{"G33X1.0Y1.0A0.5", "circle"},
                    Unread{"X1.0Y1.0G84X2.0", "circle"}, Unread{"G35", "camera"},
                    Unread{"G48X1.0", "camera"}, Unread{"G41X1.0", "beside the line"},
                    Unread{"X1.0Y1.0G82X8.62Y8.62", "row of pins"},
                    Unread{"X1.0Y1.0G87X3.0Y1.0", "slot in steps"}, Unread{"M14", "limited depth"},
                    Unread{"M45,the tide", "several lines"}, Unread{"M50,1", "step-and-repeat"},
                    Unread{"M02X1.0Y1.0", "step-and-repeat"}, Unread{"M60", "scaled"},
                    Unread{"M70", "swapped"}, Unread{"M90", "mirrored"}, Unread{"M97,TIDE", "text"},
                    Unread{"M98,TIDE", "text"}, Unread{"M99,1", "pattern"},
                    Unread{"P3X1.0", "pattern"}, Unread{"/X1.0Y1.0", "leave out"},
                    Unread{"G05,1", "does not take text"}),
    [](const testing::TestParamInfo<Unread>& i) {
      std::string name;
      for (const char c : std::string(i.param.first)) {
        if ((c >= '0' && c <= '9') || (c >= 'A' && c <= 'z')) name += c;
      }
      return name;
    });

TEST(DrillReader, RefusesARepeatedPattern) {
  const Result<DrillFile> r = read(kHead + "T1\nX1.0Y1.0\nR3M02X5.0Y0\nM30\n");
  ASSERT_FALSE(r.ok());  // three more holes in a row would be wrong
  EXPECT_EQ(r.problem().code, "DRL-013");
}

TEST(DrillReader, ReadsAGerberDrillLayer) {
  const DrillFile f = good(
      "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,NonPlated,1,2,NPTH*%\n%ADD10C,0.635*%\n%LPD*%\nG01*"
      "\n"
      "D10*\nX1000000Y2000000D03*\nX3000000Y0D02*\nX5000000Y0D01*\nM02*\n");
  ASSERT_EQ(f.holes.size(), 2u);
  EXPECT_EQ(f.holes[0].from, position_mm(1, 2));
  EXPECT_EQ(f.holes[0].diameter, 635_um);
  EXPECT_EQ(f.holes[0].plated, false);
  EXPECT_TRUE(f.holes[1].is_slot());
  EXPECT_EQ(f.holes[1].to, position_mm(5, 0));
}

struct Bad {
  const char* name;
  std::string text;
  const char* code;
  int line, column;
};
void PrintTo(const Bad& b, std::ostream* out) { *out << b.name; }
class BadDrill : public testing::TestWithParam<Bad> {};
TEST_P(BadDrill, IsRefusedAtItsPlace) {
  const Result<DrillFile> r = read(GetParam().text);
  ASSERT_FALSE(r.ok());
  EXPECT_EQ(r.problem().code, GetParam().code) << format(r.problem());
  EXPECT_EQ(r.problem().line, GetParam().line) << format(r.problem());
  EXPECT_EQ(r.problem().column, GetParam().column) << format(r.problem());
}
INSTANTIATE_TEST_SUITE_P(
    All, BadDrill,
    testing::Values(
        Bad{"Binary", std::string("T\0#v", 4), "DRL-001", 1, 1},
        Bad{"Prose", "hello world\n", "DRL-002", 1, 1},
        Bad{"OddWord", kHead + "T1\nX1.0Q3\nM30\n", "DRL-002", 9, 5},
        Bad{"OtherCommandSet", "M48\nFMAT,1\n", "DRL-003", 2, 1},
        Bad{"UnitChanges", "M48\nINCH\nMETRIC\n", "DRL-004", 3, 1},
        Bad{"TwoX", kHead + "T1\nX1.0X2.0\nM30\n", "DRL-005", 9, 5},
        Bad{"OddTool", kHead + "T1.5\nM30\n", "DRL-006", 8, 1},
        Bad{"ToolAndPlaceWithoutUnit", "%\nT1C.015F095S3\nX01095\nM30\n", "DRL-007", 3, 1},
        Bad{"BadToolBeforeUnit", "T1\n  T2C0.0\nM71\nM30\n", "DRL-008", 2, 5},
        Bad{"NoUnit", "T1\nX1.0\nM30\n", "DRL-007", 2, 1},
        Bad{"ZeroDiameter", "METRIC\nT1C0.0\nM30\n", "DRL-008", 2, 3},
        Bad{"FarByIncrements", "METRIC\nT1C0.8\n%\nT1\nG91\nX800.0Y0.0\nX500.0Y0.0\nM30\n",
            "DRL-012", 7, 1},
        Bad{"FarFromAZeroFarAway", "METRIC\nT1C0.8\n%\nT1\nG93X800.0Y0.0\nX500.0Y0.0\nM30\n",
            "DRL-012", 6, 1},
        Bad{"DiameterBelowANanometre", "METRIC\nT1C0.0000000000000000005\nM30\n", "DRL-008", 2, 3},
        Bad{"HugeDiameter", "INCH\nT1C80.0\nM30\n", "DRL-008", 2, 3},
        Bad{"DiameterWithoutPoint", "INCH\nT1C32\nM30\n", "DRL-008", 2, 3},
        Bad{"CutShort", kHead + "T1\nX1.0Y1.0\n", "DRL-009", 9, 1},
        Bad{"CutterCompensation", kHead + "T1\nG41X1.0\nM30\n", "DRL-010", 9, 1},
        Bad{"NoNumber", kHead + "T1\nX1.0.0Y1\nM30\n", "DRL-011", 9, 1},
        Bad{"FarAway", kHead + "T1\nX1.0Y2000.0\nM30\n", "DRL-012", 9, 5},
        Bad{"StepAndRepeat", kHead + "T1\nX1.0Y1.0\nM02X5.0\nM30\n", "DRL-013", 10, 1},
        Bad{"Mirror", kHead + "T1\nX1.0Y1.0\nM80\nM30\n", "DRL-013", 10, 1},
        Bad{"UnknownTool", kHead + "T9\nX1.0Y1.0\nM30\n", "DRL-014", 9, 1},
        Bad{"NoTool", kHead + "X1.0Y1.0\nM30\n", "DRL-015", 8, 1},
        Bad{"AfterT0", kHead + "T1\nT0\nX1.0Y1.0\nM30\n", "DRL-015", 10, 1},
        Bad{"ManyRepeats", kHead + "T1\nX1.0\nR99999X1.0\nM30\n", "DRL-017", 10, 1},
        Bad{"ManyHoles",
            kHead + "T1\nX1.0\n" +
                [] {
                  std::string lines;
                  for (int i = 0; i < 21; ++i) lines += "R10000X0.001\n";
                  return lines;
                }(),
            "DRL-016", 29, 1},
        Bad{"GerberCopper",
            "%FSLAX46Y46*%\n%MOMM*%\n%TF.FileFunction,Copper,L1,Top*%\n%ADD10C,0.6*%\nD10*"
            "\nX0Y0D03*\nM02*\n",
            "DRL-021", 3, 1},
        Bad{"NoSuchArc", kHead + "T1\nG00X0.0Y0.0\nG02X9.0Y0.0A1.0\nM30\n", "DRL-018", 10, 1},
        Bad{"GerberRegion", "%FSLAX46Y46*%\n%MOMM*%\n%ADD10R,0.6X0.5*%\nD10*\nX0Y0D03*\nM02*\n",
            "DRL-020", 5, 1},
        Bad{"GerberHoleAsLargeAsABoard",
            "%TF.FileFunction,Plated,1,2,PTH,Drill*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,876*%\nD10*"
            "\nX0Y0D03*\nM02*\n",
            "DRL-008", 6, 1}),
    [](const testing::TestParamInfo<Bad>& i) { return std::string(i.param.name); });

TEST(DrillReader, WarnsOfACutWithTheToolUp) {
  Diagnostics notes;
  ASSERT_TRUE(read(kHead + "T1\nG00X0.0Y0.0\nM15\nG01X1.0\nM16\nG01X2.0\nM30\n", notes).ok());
  EXPECT_TRUE(remarked(notes, "DRL-031"));
}

bool same(const Hole& a, const Hole& b) {
  return a.from == b.from && a.to == b.to && a.diameter == b.diameter && a.plated == b.plated &&
         a.is_slot() == b.is_slot();
}

TEST(DrillWriter, IsReadBackTheSame) {
  const DrillFile first = good(
      "M48\nMETRIC\n;TYPE=PLATED\nT1C0.8\n;TYPE=NON_PLATED\nT2C3.2\n%\nT1\nX1.5Y-2.000001\n"
      "G00X1.0Y1.0\nM15\nG01X2.0\nG01Y3.0\nM16\nG05\nX0Y0G85X1.0Y0\nT2\nX2.0\nM30\n");
  const std::string text = write_drill(first, 2);
  const DrillFile second = good(text);
  ASSERT_EQ(second.holes.size(), first.holes.size());
  for (std::size_t i = 0; i < first.holes.size(); ++i)
    EXPECT_TRUE(same(first.holes[i], second.holes[i])) << i;
  EXPECT_EQ(second.holes[1].slot, second.holes[2].slot);
  EXPECT_NE(second.holes[2].slot, second.holes[3].slot);
  EXPECT_EQ(write_drill(second, 2), text);
}

TEST(DrillWriter, SaysWhatTheFileIs) {
  DrillFile f;
  Hole h;
  h.diameter = 800_um;
  h.plated = true;
  f.holes = {h};
  EXPECT_NE(write_drill(f, 2).find("TF.FileFunction,Plated,1,2,PTH\n"), std::string::npos);
  f.holes[0].span = {1, 2};
  EXPECT_NE(write_drill(f, 4).find("TF.FileFunction,Plated,1,2,Blind\n"), std::string::npos);
}

struct Real {
  const char* file;
  std::size_t holes, slots;
};
class RealDrill : public testing::TestWithParam<Real> {};
// Holes: lines that begin with X or Y, counted by grep; slots: the table in the boards' README, or
// M15 by grep.
TEST_P(RealDrill, HasTheHolesAndSlotsOfTheFile) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const DrillFile f = good(test::read_bytes(boards / GetParam().file));
  std::set<std::int32_t> slots;
  std::size_t holes = 0;
  for (const Hole& h : f.holes) h.is_slot() ? void(slots.insert(h.slot)) : void(++holes);
  EXPECT_EQ(holes, GetParam().holes);
  EXPECT_EQ(slots.size(), GetParam().slots);
}
INSTANTIATE_TEST_SUITE_P(
    Boards, RealDrill,
    testing::Values(
        Real{"ac-coupler/hantek-6022-pcb-NPTH.drl", 0, 0},
        Real{"ac-coupler/hantek-6022-pcb-PTH.drl", 7, 0},
        Real{"encoder/RotaryEncoderDebounced-PTH.drl", 20, 2},
        Real{"fx-switcher/EfxSelector_v2-PTH.drl", 199, 6},
        Real{"many-pads/test_project_DRILLS-NPTH.drl", 8, 9},
        Real{"many-pads/test_project_DRILLS-PTH.drl", 21, 5},
        Real{"melody/OndraMelodik-PTH.drl", 128, 4}, Real{"melody/OndraMelodik-NPTH.drl", 2, 0},
        Real{"motion-light-4l/open-motion-light-PTH.drl", 278, 4},
        Real{"motion-light-4l/open-motion-light-NPTH.drl", 7, 0}, Real{"panel-mm/panel.drl", 73, 0},
        Real{"prom-burner/prompcb-PTH.drl", 142, 0}, Real{"rfid-reader/design_export.drl", 63, 0},
        Real{"rfid-reader/design_export.xln", 63, 0},
        Real{"rom-programmer/rom-programmer-PTH.drl", 151, 0},
        Real{"usb-fpga-4l-blind/tomu-fpga-front-in1.drl", 28, 0},
        Real{"usb-fpga-4l-blind/tomu-fpga-in1-in2.drl", 53, 0},
        Real{"usb-fpga-4l-blind/tomu-fpga-in2-back.drl", 166, 0}, Real{"dmx/ncdrill.DRD", 36, 0},
        Real{"debug-header/bt-debug-v1-RoundHoles.TXT", 150, 0},
        Real{"debug-header/bt-debug-v1-SlotHoles.TXT", 0, 8}, Real{"school/drills.xln", 39, 0},
        Real{"gyro-panel/combined.txt", 482, 0}, Real{"mcu-clone/freeduino.drd", 176, 0},
        Real{"stepper/driver.plated-drill.cnc", 69, 0},
        Real{"stepper/driver.unplated-drill.cnc", 2, 0},
        Real{"numpres/numpres.pcb.output_plated-drill.grb", 85, 0},
        Real{"numpres/numpres.pcb.output_unplated-drill.grb", 0, 0},
        Real{"iot-bank/IRNASIoTbank1.2.Drill", 436, 0}));

}  // namespace
}  // namespace isthmus::formats
