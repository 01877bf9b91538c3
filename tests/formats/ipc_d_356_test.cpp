// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/ipc_d_356.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>
#include <sstream>

#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

const std::string kInch = "P  UNITS CUST 0\n";
const std::string kEnd = "999\n";

Result<Netlist> read(const std::string& text, Diagnostics& notes) {
  return read_ipc_d_356(text, "n.d356", notes);
}
Result<Netlist> read(const std::string& text) {
  Diagnostics notes;
  return read(text, notes);
}
bool remarked(const Diagnostics& notes, const std::string& code) {
  return std::ranges::any_of(notes.list(),
                             [&](const Diagnostic& d) { return d.what.code == code; });
}
NetlistRecord only(const std::string& record, const std::string& head = kInch,
                   bool displaced = false) {
  Diagnostics notes;
  const Result<Netlist> n = read(head + record + "\n" + kEnd, notes);
  EXPECT_EQ(remarked(notes, "NET-024"), displaced) << record;
  if (!n.ok() || n->records.size() != 1) {
    ADD_FAILURE() << (n.ok() ? "not one record" : format(n.problem()));
    return {};
  }
  return n->records[0];
}

// Columns as IPC-D-356A tables them; 0.0001 inch = 2540 nm.
TEST(IpcD356, ReadsAThroughHoleByColumns) {
  const NetlistRecord r =
      only("317/SDA             J12   -A1  MD0394PA00X+053100Y-024400X0787Y0394R090 S3");
  EXPECT_EQ(r.kind, FeatureKind::through_hole);
  EXPECT_EQ(r.net, "/SDA");
  EXPECT_EQ(r.ref, "J12");
  EXPECT_EQ(r.pin, "A1");
  EXPECT_TRUE(r.mid_net);
  EXPECT_EQ(r.hole, Nanometres{394 * 2540});
  EXPECT_EQ(r.plated, true);
  EXPECT_EQ(r.access, 0);
  EXPECT_EQ(r.at, (Position{53100 * 2540, -24400 * 2540}));
  EXPECT_EQ(r.size_x, Nanometres{787 * 2540});
  EXPECT_EQ(r.size_y, Nanometres{394 * 2540});
  EXPECT_EQ(r.rotation_deg, 90);
  EXPECT_EQ(r.mask, 3);
  EXPECT_EQ(r.line, 2);
}

TEST(IpcD356, ReadsASurfacePadAndRoundSizes) {
  const NetlistRecord r =
      only("327VCC              C1    -2          A02X+001132Y+000886X0236Y0000R000S1");
  EXPECT_EQ(r.kind, FeatureKind::surface);
  EXPECT_EQ(r.access, 2);
  EXPECT_FALSE(r.hole);
  EXPECT_FALSE(r.plated);
  EXPECT_EQ(r.size_y, r.size_x);
  EXPECT_EQ(r.mask, 1);  // one column early
}

struct Unit {
  const char* head;
  std::int64_t nm;
};
class Units : public testing::TestWithParam<Unit> {};
TEST_P(Units, GiveTheLengthOfACount) {
  const NetlistRecord r =
      only("327A                U1    -1          A01X+000001Y+000000", GetParam().head);
  EXPECT_EQ(r.at.x, GetParam().nm);
}
INSTANTIATE_TEST_SUITE_P(
    All, Units,
    testing::Values(Unit{"P  UNITS CUST\n", 2540}, Unit{"P  UNITS CUST 0\n", 2540},
                    Unit{"P  UNITS CUST 1\n", 1000}, Unit{"P  UNITS CUST 2\n", 2540},
                    Unit{"P  UNITS SI\n", 1000}, Unit{"", 2540}, Unit{"\nC  a comment\n", 2540}));

TEST(IpcD356, WarnsWhenUnitsAreMissingOrDoubtful) {
  Diagnostics missing, radians;
  const std::string record = "327A                U1    -1          A01X+000001Y+000000\n";
  ASSERT_TRUE(read(record + kEnd, missing).ok());
  EXPECT_TRUE(remarked(missing, "NET-023"));
  ASSERT_TRUE(read("P  UNITS CUST 2\n" + record + kEnd, radians).ok());
  EXPECT_TRUE(remarked(radians, "NET-022"));
}

TEST(IpcD356, TakesBlanksForZerosAndSigns) {
  const NetlistRecord r =
      only("317GND              VIA         D  24PA00X  14900Y   1450X 396Y 396R  0");
  EXPECT_EQ(r.hole, Nanometres{24 * 2540});
  EXPECT_EQ(r.at, (Position{14900 * 2540, 1450 * 2540}));
  EXPECT_EQ(r.size_x, Nanometres{396 * 2540});
  EXPECT_EQ(r.ref, "VIA");
  EXPECT_EQ(r.pin, "");
}

TEST(IpcD356, FollowsALongReferenceThatShiftsTheColumns) {
  Diagnostics notes;
  const Result<Netlist> n = read(
      kInch +
          "317GND              CONNECTOR-ONE-12   D0394PA00X+053100Y-024400X0787Y0000R180 S0\n" +
          kEnd,
      notes);
  ASSERT_TRUE(n.ok()) << format(n.problem());
  EXPECT_EQ(n->records[0].ref, "CONNECTOR-ONE");
  EXPECT_EQ(n->records[0].pin, "12");
  EXPECT_EQ(n->records[0].hole, Nanometres{394 * 2540});
  EXPECT_EQ(n->records[0].at, (Position{53100 * 2540, -24400 * 2540}));
  EXPECT_EQ(n->records[0].rotation_deg, 180);
  EXPECT_TRUE(remarked(notes, "NET-024"));
}

TEST(IpcD356, FollowsALongNetNameThatShiftsTheColumns) {
  const NetlistRecord r = only(
      "327A_NAME_OF_TWENTY_ONE   U1    -1          A01X+000002Y+000003X0100Y0200R000", kInch, true);
  EXPECT_EQ(r.net, "A_NAME_OF_TWENTY_ONE");
  EXPECT_EQ(r.ref, "U1");
  EXPECT_EQ(r.pin, "1");
  EXPECT_EQ(r.at, (Position{2 * 2540, 3 * 2540}));
}

TEST(IpcD356, FollowsADisplacementThatBeginsBehindThePin) {
  const NetlistRecord r = only(
      "317GND              J1    -12  M   D0394PA00X+000002Y+000003X0787Y0000R180", kInch, true);
  EXPECT_EQ(r.ref, "J1");
  EXPECT_EQ(r.pin, "12");
  EXPECT_TRUE(r.mid_net);
  EXPECT_EQ(r.hole, Nanometres{394 * 2540});
  EXPECT_EQ(r.at, (Position{2 * 2540, 3 * 2540}));
}

TEST(IpcD356, FollowsARecordOneColumnToTheLeft) {
  const NetlistRecord r =
      only("317GND              J1    -1    D0394A00X+000002Y+000003X0787Y0000R180", kInch, true);
  EXPECT_EQ(r.hole, Nanometres{394 * 2540});
  EXPECT_EQ(r.at, (Position{2 * 2540, 3 * 2540}));
  EXPECT_EQ(r.pin, "1");
}

TEST(IpcD356, ResolvesAliasesByWholeTokenAndBySuffix) {
  const std::string rest = "          U1    -1          A01X+000001Y+000000\n";
  const Result<Netlist> whole =
      read(kInch + "P  NNAME1 A LIM\n327NNAME1 " + rest + "3271      " + rest + kEnd);
  ASSERT_TRUE(whole.ok()) << format(whole.problem());
  EXPECT_EQ(whole->records[0].net, "A LIM");
  EXPECT_EQ(whole->records[1].net, "1");
  for (const char* kind : {"P", "C"}) {
    const Result<Netlist> suffix =
        read(kInch + kind + "  NNAMEm0000 THERMAL_TRIP\n327m0000  " + rest + kEnd);
    ASSERT_TRUE(suffix.ok());
    EXPECT_EQ(suffix->records[0].net, "THERMAL_TRIP");
  }
}

TEST(IpcD356, KeepsBlankAndUnconnectedNetsVerbatim) {
  const std::string rest = "              U1    -1          A01X+000001Y+000000\n";
  const Result<Netlist> n =
      read(kInch + "327N/C " + rest.substr(1) + "327    " + rest.substr(1) + kEnd);
  ASSERT_TRUE(n.ok()) << format(n.problem());
  EXPECT_EQ(n->records[0].net, "N/C");
  EXPECT_EQ(n->records[1].net, "");
}

// A via as its top pad, its bottom pad and its hole (IPC-D-356A, examples of plated holes): one
// point.
TEST(IpcD356, FoldsThePadsAndTheHoleOfAVia) {
  const NetlistRecord r = only(
      "317CLK              VIA   -    M      A01X+019341Y+025050X0160Y    R315 S0\n"
      "017CLK              VIA   -    M      A08X+019341Y+025050X0150Y    R315 S0\n"
      "017CLK                    -    MD0070PA00X+019341Y+025050");
  EXPECT_EQ(r.kind, FeatureKind::through_hole);
  EXPECT_EQ(r.access, 0);
  EXPECT_EQ(r.hole, Nanometres{70 * 2540});
  EXPECT_EQ(r.plated, true);
  EXPECT_FALSE(r.hole_at);
  EXPECT_EQ(r.size_x, Nanometres{160 * 2540});
}

TEST(IpcD356, KeepsAHoleThatIsNotAtThePadsCentre) {
  const NetlistRecord r = only(
      "317CLK              J1    -1          A01X+019341Y+025050X0160Y    R000 S0\n"
      "017CLK                          D0070PA00X+019500Y+025050");
  EXPECT_EQ(r.at, (Position{19341 * 2540, 25050 * 2540}));
  EXPECT_EQ(r.hole_at, (Position{19500 * 2540, 25050 * 2540}));
}

TEST(IpcD356, KeepsAFurtherPadAsARecordOfItsOwn) {
  const std::string pads =
      "317CLK              J1    -1    D0394PA00X+010000Y+020000X0787Y0000R000 S0\n"
      "017                                   A02X+012000Y+020000X0500Y0000R000 S0\n"
      "327DAT              J1    -2          A01X+030000Y+020000X0500Y0000R000 S0\n"
      "027                                   A02X+030000Y+020000X0500Y0000R000 S0\n";
  const Result<Netlist> n = read(kInch + pads + kEnd);
  ASSERT_TRUE(n.ok()) << format(n.problem());
  ASSERT_EQ(n->records.size(), 4u);
  EXPECT_EQ(n->records[1].net, "CLK");
  EXPECT_EQ(n->records[1].kind, FeatureKind::surface);
  EXPECT_EQ(n->records[1].at, (Position{12000 * 2540, 20000 * 2540}));
  EXPECT_EQ(n->records[3].pin, "2");
  EXPECT_EQ(n->records[3].access, 2);
}

TEST(IpcD356, ReadsABlindViaAndItsPad) {
  const NetlistRecord r = only(
      "307GND              VIA         D0100PA01X+000010Y+000020          R000 S0L01L02\n"
      "027                                   A01X+000010Y+000020X0200Y0000R000 S0");
  EXPECT_EQ(r.kind, FeatureKind::blind_via);
  EXPECT_EQ(r.span, (std::pair{1, 2}));
  EXPECT_EQ(r.size_x, Nanometres{200 * 2540});
}

TEST(IpcD356, KeepsToolingHolesApart) {
  const NetlistRecord r =
      only("367N/C              VIA   -     D0508UA00X+002540Y+002540X0914Y0000R000 S3");
  EXPECT_EQ(r.kind, FeatureKind::tooling);
  EXPECT_EQ(r.plated, false);
}

TEST(IpcD356, SkipsKnownRecordsAndSaysSo) {
  Diagnostics notes;
  const Result<Netlist> n =
      read(kInch + "327A                U1    -1          A01X+000001Y+000000\r\n" +
               "389BOARD_EDGE         X0Y0 X22500 Y15000 X0\r\n089  X1300Y240\r\n" +
               "378GND            L01 X100 X0Y0 X100\r\n999\r\nmore\r\n",
           notes);
  ASSERT_TRUE(n.ok()) << format(n.problem());
  EXPECT_EQ(n->records.size(), 1u);
  EXPECT_EQ(std::ranges::count_if(notes.list(),
                                  [](const Diagnostic& d) { return d.what.code == "NET-020"; }),
            2);
  EXPECT_TRUE(remarked(notes, "NET-021"));
}

const std::string kPad = "327A                U1    -1          A01X+000001Y+000000\n";

class LeftOutRecords : public testing::TestWithParam<std::pair<const char*, const char*>> {};
TEST_P(LeftOutRecords, AreToldByName) {
  const auto [code, what] = GetParam();
  Diagnostics notes;
  const Result<Netlist> n = read(kInch + kPad + code + "TIDE              X0Y0\n" + kEnd, notes);
  ASSERT_TRUE(n.ok()) << format(n.problem());
  EXPECT_EQ(n->records.size(), 1u);
  ASSERT_EQ(notes.list().size(), 1u);
  EXPECT_EQ(notes.list()[0].what.code, "NET-020");
  EXPECT_NE(notes.list()[0].what.message.find(what), std::string::npos);
}
using LeftOut = std::pair<const char*, const char*>;
INSTANTIATE_TEST_SUITE_P(
    All, LeftOutRecords,
    testing::Values(LeftOut{"099", "tester locations"}, LeftOut{"088", "mask clearances"},
                    LeftOut{"370", "embedded components"}, LeftOut{"070", "embedded components"},
                    LeftOut{"380", "mounted components"}, LeftOut{"080", "mounted components"},
                    LeftOut{"378", "conductors"}, LeftOut{"078", "conductors"},
                    LeftOut{"379", "adjacencies"}, LeftOut{"079", "adjacencies"},
                    LeftOut{"389", "outlines"}, LeftOut{"089", "outlines"},
                    LeftOut{"390", "features"}, LeftOut{"090", "features"}),
    [](const testing::TestParamInfo<LeftOut>& i) { return std::string("Record") + i.param.first; });

// IPC-D-356A, 309: the copies of an image; the points of the copies are in no record.
TEST(IpcD356, WarnsOfAStepAndRepeat) {
  Diagnostics notes;
  ASSERT_TRUE(
      read(kInch + kPad + "309    2   X+020000Y+000000\n" + "309    3   X+040000Y+000000\n" + kEnd,
           notes)
          .ok());
  ASSERT_EQ(notes.list().size(), 1u);
  EXPECT_EQ(notes.list()[0].what.code, "NET-026");
  EXPECT_EQ(notes.list()[0].severity, Severity::warning);
}

// IPC-D-356A, IMAGE: the panel's records count from the panel's origin.
TEST(IpcD356, RefusesTheRecordsOfOtherImages) {
  for (const char* image : {"PRIMARY", "1", ""}) {
    EXPECT_TRUE(read(kInch + "P  IMAGE " + image + "\n" + kPad + kEnd).ok()) << image;
  }
  for (const char* image : {"PANEL", "2"}) {
    const Result<Netlist> n = read(kInch + kPad + "P  IMAGE " + image + "\n" + kPad + kEnd);
    ASSERT_FALSE(n.ok()) << image;
    EXPECT_EQ(n.problem().code, "NET-015");
    EXPECT_EQ(n.problem().line, 4);
  }
  EXPECT_TRUE(read(kInch + kPad + "P  IMAGE PANEL\n" + kEnd).ok());
}

TEST(IpcD356, PassesOverOtherParameters) {
  Diagnostics notes;
  const Result<Netlist> n =
      read("P  JOB   tide\nP  CODE 00\n" + kInch +
               "P  TITLE tide gauge\nP  NUM 1\nP  REV A\nP  VER IPC-D-356A\nP  DIM N\n"
               "P  REMOVED_CONDUCTORS TIDE L01\nP\n" +
               kPad + kEnd,
           notes);
  ASSERT_TRUE(n.ok()) << format(n.problem());
  EXPECT_TRUE(notes.list().empty());
}

TEST(IpcD356, SaysWhenASizeFillsItsField) {
  Diagnostics notes;
  ASSERT_TRUE(read(kInch +
                       "327A                U1    -1          A01X+000001Y+000000X9999Y0100R000\n" +
                       kEnd,
                   notes)
                  .ok());
  EXPECT_TRUE(remarked(notes, "NET-025"));
}

struct Bad {
  const char* name;
  std::string text;
  const char* code;
  int line;
};
void PrintTo(const Bad& b, std::ostream* out) { *out << b.name; }
class BadNetlist : public testing::TestWithParam<Bad> {};
TEST_P(BadNetlist, IsRefusedAtItsPlace) {
  const Result<Netlist> r = read(GetParam().text);
  ASSERT_FALSE(r.ok());
  EXPECT_EQ(r.problem().code, GetParam().code) << format(r.problem());
  EXPECT_EQ(r.problem().line, GetParam().line) << format(r.problem());
}
INSTANTIATE_TEST_SUITE_P(
    All, BadNetlist,
    testing::Values(
        Bad{"RevisionB", "P  VER   IPC-D-356B\n" + kEnd, "NET-001", 1},
        Bad{"NotARecord", kInch + "hello\n" + kEnd, "NET-002", 2},
        Bad{"Binary", std::string("\x00\x01\x02\n", 4), "NET-002", 1},
        Bad{"OddUnits", "P  UNITS CUST 7\n" + kEnd, "NET-003", 1},
        Bad{"UnitsTwice", kInch + "P  UNITS SI\n" + kEnd, "NET-004", 2},
        Bad{"UnitsLate", kPad + "P  UNITS SI\n" + kEnd, "NET-004", 2},
        Bad{"NoColumns", kInch + "327A                U1   -1  A01X1Y2\n" + kEnd, "NET-005", 2},
        Bad{"NoAccess",
            kInch + "327A                U1    -1             X+000001Y+000000\n" + kEnd, "NET-005",
            2},
        Bad{"NoNumber",
            kInch + "327A                U1    -1          A01X       Y+000000\n" + kEnd, "NET-006",
            2},
        Bad{"FarAway", kInch + "327A                U1    -1          A01X+999999Y+000000\n" + kEnd,
            "NET-007", 2},
        Bad{"OddSize",
            kInch + "327A                U1    -1          A01X+000001Y+000000X01.5\n" + kEnd,
            "NET-008", 2},
        Bad{"TwoNames", kInch + "P  NNAMEa b\nP  NNAMEa c\n" + kEnd, "NET-009", 3},
        Bad{"UnknownCode",
            kInch + "555A               U1    -1          A01X+000001Y+000000\n" + kEnd, "NET-010",
            2},
        Bad{"CutShort", kInch + kPad, "NET-011", 2}, Bad{"Empty", kInch + kEnd, "NET-012", 0},
        Bad{"Orphan", kInch + "017A                U1    -1          A01X+000001Y+000000\n" + kEnd,
            "NET-013", 2},
        Bad{"OtherNet",
            kInch + kPad + "027B                U1    -1          A01X+000001Y+000000\n" + kEnd,
            "NET-014", 3}),
    [](const testing::TestParamInfo<Bad>& i) { return std::string(i.param.name); });

Netlist made() {
  Netlist n;
  n.metric = true;
  NetlistRecord hole;
  hole.kind = FeatureKind::through_hole;
  hole.net = "A NET NAME WELL OVER FOURTEEN";
  hole.ref = "J1", hole.pin = "12";
  hole.at = position_mm(12.7, -3.81);
  hole.size_x = hole.size_y = 1600_um;
  hole.hole = 800_um, hole.plated = true;
  NetlistRecord pad = hole;
  pad.kind = FeatureKind::surface;
  pad.net = "GND", pad.hole = std::nullopt, pad.plated = std::nullopt;
  pad.access = 2, pad.size_y = 300_um, pad.rotation_deg = 90, pad.mid_net = true, pad.mask = 1;
  NetlistRecord apart = hole;
  apart.hole_at = position_mm(13.1, -3.81);
  NetlistRecord blank = pad;
  blank.net = "", blank.pin = "";
  n.records = {hole, pad, apart, blank};
  return n;
}

TEST(IpcD356Writer, IsReadBackTheSame) {
  const Netlist first = made();
  const Result<Netlist> second = read(write_ipc_d_356(first));
  ASSERT_TRUE(second.ok()) << format(second.problem());
  EXPECT_TRUE(second->metric);
  ASSERT_EQ(second->records.size(), first.records.size());
  for (std::size_t i = 0; i < first.records.size(); ++i) {
    const NetlistRecord &a = first.records[i], &b = second->records[i];
    EXPECT_EQ(std::tie(a.kind, a.net, a.ref, a.pin, a.at, a.hole_at, a.size_x, a.size_y, a.hole),
              std::tie(b.kind, b.net, b.ref, b.pin, b.at, b.hole_at, b.size_x, b.size_y, b.hole));
    EXPECT_EQ(std::tie(a.plated, a.access, a.mid_net, a.rotation_deg, a.mask),
              std::tie(b.plated, b.access, b.mid_net, b.rotation_deg, b.mask));
  }
}

TEST(IpcD356Writer, KeepsTestRecordsWithinEightyColumns) {
  const std::string text = write_ipc_d_356(made());
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 80u) << line;
}

// Columns are counted in bytes, not in characters; a character is written whole or not at all.
TEST(IpcD356Writer, KeepsItsColumnsWithNamesBeyondAscii) {
  Netlist n = made();
  n.records = {n.records[0], n.records[0]};
  n.records[0].net = "\u00b5DRUCK", n.records[0].ref = "R\u00e9\u00e8\u00ea",
  n.records[0].pin = "\u03a9";
  n.records[1].net = "A", n.records[1].ref = std::string(25, '\x80'), n.records[1].pin = "1";
  const Result<Netlist> back = read(write_ipc_d_356(n));
  ASSERT_TRUE(back.ok()) << format(back.problem());
  ASSERT_EQ(back->records.size(), 2u);
  EXPECT_EQ(back->records[0].net, "\u00b5DRUCK");
  EXPECT_EQ(back->records[0].ref, "R\u00e9\u00e8");
  EXPECT_EQ(back->records[0].pin, "\u03a9");
  EXPECT_EQ(back->records[0].at, n.records[0].at);
  EXPECT_EQ(back->records[1].at, n.records[1].at);
}

// Six digits of micrometres end at 1 m: beyond it the file is in ten-thousandths of an inch.
TEST(IpcD356Writer, AHoleFarFromItsPadIsWithinItsColumns) {
  Netlist n = made();
  n.records = {n.records[2]};
  ASSERT_TRUE(n.records[0].hole_at);
  n.records[0].hole_at = position_mm(1028.954, 1);
  const Result<Netlist> back = read(write_ipc_d_356(n));
  ASSERT_TRUE(back.ok()) << format(back.problem());
  EXPECT_NEAR(static_cast<double>(back->records[0].hole_at->x), 1028.954e6, 1270);
}

struct Real {
  const char* file;
  std::size_t records, nets;
};
class RealNetlist : public testing::TestWithParam<Real> {};
// Counts: the table in the boards' README (nets without N/C and blank); dmx there counts two
// outline records.
TEST_P(RealNetlist, HasTheRecordsAndNetsOfTheTable) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const Result<Netlist> n = read(test::read_bytes(boards / GetParam().file));
  ASSERT_TRUE(n.ok()) << format(n.problem());
  std::set<std::string> nets;
  for (const NetlistRecord& r : n->records) {
    if (!r.net.empty() && r.net != "N/C") nets.insert(r.net);
  }
  EXPECT_EQ(n->records.size(), GetParam().records);
  EXPECT_EQ(nets.size(), GetParam().nets);
}
INSTANTIATE_TEST_SUITE_P(Table, RealNetlist,
                         testing::Values(Real{"rom-programmer/netlist.ipc", 209, 47},
                                         Real{"motion-light-4l/netlist.ipc", 553, 77},
                                         Real{"ac-coupler/netlist.ipc", 27, 11},
                                         Real{"prom-burner/netlist.ipc", 142, 48},
                                         Real{"fx-switcher/netlist.ipc", 205, 53},
                                         Real{"melody/netlist.ipc", 159, 41},
                                         Real{"encoder/netlist.ipc", 58, 19},
                                         Real{"usb-fpga-4l-blind/tomu-fpga.d356", 395, 31},
                                         Real{"many-pads/test_project.d356", 34, 5},
                                         Real{"dmx/ipc-d-356.ipc", 107 - 2, 17}));

struct Lone {
  const char* file;
  std::size_t records;
  bool metric;
};
class LoneNetlist : public testing::TestWithParam<Lone> {};
// Counts: lines whose operation code is 317, 327 or 367, by grep; 017 lines fold into the 317 above
// them.
TEST_P(LoneNetlist, IsReadWhole) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const Result<Netlist> n = read(test::read_bytes(boards / "lone-d356" / GetParam().file));
  ASSERT_TRUE(n.ok()) << format(n.problem());
  EXPECT_EQ(n->records.size(), GetParam().records);
  EXPECT_EQ(n->metric, GetParam().metric);
}
INSTANTIATE_TEST_SUITE_P(
    Files, LoneNetlist,
    testing::Values(Lone{"a-8l-A.ipc", 7004, false}, Lone{"g-board.net", 122, false},
                    Lone{"g-cust0.net", 1, false}, Lone{"g-cust1.net", 1, true},
                    Lone{"g-hole1.net", 1, true}, Lone{"g-hole2.net", 1, true},
                    Lone{"g-smt1.net", 2, true}, Lone{"g-smt3.net", 4, true},
                    Lone{"g-via1.net", 1, true}, Lone{"g-via4.net", 1, true},
                    Lone{"g-via8.net", 1, true}, Lone{"k4-usbstick.d356", 88, false},
                    Lone{"k5-usbfpga-evt3.d356", 420, false}, Lone{"k6-lfo-main.ipc", 142, false},
                    Lone{"k6-melody-repo.ipc", 159, false}, Lone{"k6-radio.ipc", 75, false}));

}  // namespace
}  // namespace isthmus::formats
