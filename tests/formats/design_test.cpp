// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/design.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

std::string copper(const std::string& function,
                   const std::string& objects = "X5000000Y5000000D03*\n") {
  return "%FSLAX46Y46*%\n%MOMM*%\n" +
         (function.empty() ? "" : "%TF.FileFunction," + function + "*%\n") +
         "%ADD10C,1.5*%\n%LPD*%\nG01*\nD10*\n" + objects + "M02*\n";
}
const std::string kDrill = "M48\nMETRIC\nT1C0.8\n%\nT1\nX5.0Y5.0\nM30\n";
const std::string kNets =
    "P  UNITS CUST 1\n317A                J1    -1    "
    "D0800PA00X+005000Y+005000X1500Y0000R000\n999\n";

// A board of two pads and a hole; single files and keys can be changed.
struct Board {
  std::map<std::string, std::string> files{{"top.gbr", copper("Copper,L1,Top")},
                                           {"bottom.gbr", copper("Copper,L2,Bot")},
                                           {"h.drl", kDrill},
                                           {"n.d356", kNets}};
  std::string more = "holes: [{file: h.drl, plated: true}]\nnetlist: n.d356\n";
  std::string artwork = "top: top.gbr, bottom: bottom.gbr";

  Result<Design> load(Diagnostics& notes) const {
    const TempDir dir;
    for (const auto& [name, bytes] : files) dir.write(name, bytes);
    const Result<BoardFile> board = read_board_file(dir.write(
        "board.yaml", "isthmus: 1\nname: b\nstage: etched\nartwork: {" + artwork + "}\n" + more));
    if (!board) return board.problem();
    return load_design(*board, notes);
  }
  Result<Design> load() const {
    Diagnostics notes;
    return load(notes);
  }
  std::string hash() const {
    const Result<Design> d = load();
    return d.ok() ? design_hash(*d) : format(d.problem());
  }
  std::string code() const {
    const Result<Design> d = load();
    return d.ok() ? "none" : d.problem().code;
  }
};
bool remarked(const Diagnostics& notes, const std::string& code) {
  return std::any_of(notes.list().begin(), notes.list().end(),
                     [&](const Diagnostic& d) { return d.what.code == code; });
}

TEST(LoadDesign, ReadsEveryFileOnce) {
  const Result<Design> d = Board{}.load();
  ASSERT_TRUE(d.ok()) << format(d.problem());
  ASSERT_EQ(d->copper.size(), 2u);
  EXPECT_EQ(d->copper[0].objects.size(), 1u);
  ASSERT_EQ(d->holes.size(), 1u);
  EXPECT_EQ(d->holes[0].plated, true);
  EXPECT_EQ(d->netlist->records.size(), 1u);
  ASSERT_EQ(d->hashes.size(), 4u);
  EXPECT_EQ(d->hashes[0].role, "top");
  EXPECT_EQ(d->hashes[2].file, "h.drl");
  EXPECT_EQ(d->hashes[2].sha256, sha256(kDrill));
}

TEST(LoadDesign, GivesAOneSidedBoardAnEmptyOtherSide) {
  Board b;
  b.artwork = "bottom: bottom.gbr";
  const Result<Design> d = b.load();
  ASSERT_TRUE(d.ok()) << format(d.problem());
  ASSERT_EQ(d->copper.size(), 2u);
  EXPECT_TRUE(d->copper[0].objects.empty());
  EXPECT_EQ(d->copper[1].objects.size(), 1u);
}

TEST(LoadDesign, OrdersInnerLayersFromTheTop) {
  Board b;
  b.files["l2.gbr"] = copper("Copper,L2,Inr");
  b.files["bottom.gbr"] = copper("Copper,L3,Bot");
  b.artwork += ", inner: [l2.gbr]";
  const Result<Design> d = b.load();
  ASSERT_TRUE(d.ok()) << format(d.problem());
  ASSERT_EQ(d->copper.size(), 3u);
  EXPECT_NE(d->copper[1].file.find("l2.gbr"), std::string::npos);
}

TEST(LoadDesign, RefusesFilesThatContradictTheirKey) {
  for (const char* function : {"Copper,L2,Bot", "Soldermask,Top", "Copper,L2,Inr"}) {
    Board b;
    b.files["top.gbr"] = copper(function);
    EXPECT_EQ(b.code(), "DSN-005") << function;
  }
  Board negative;
  negative.files["top.gbr"] = "%TF.FilePolarity,Negative*%\n" + copper("Copper,L1,Top");
  EXPECT_EQ(negative.code(), "DSN-005");
}

TEST(LoadDesign, RefusesAFileUnderTwoKeys) {
  Board b;
  b.artwork = "top: top.gbr, bottom: top.gbr";
  EXPECT_EQ(b.code(), "DSN-007");
}

TEST(LoadDesign, RefusesHolesThatGoDeeperThanTheBoard) {
  Board b;
  b.files["h.drl"] =
      "M48\n; #@! TF.FileFunction,Plated,1,4,PTH\nMETRIC\nT1C0.8\n%\nT1\nX5.0Y5.0\nM30\n";
  EXPECT_EQ(b.code(), "DSN-006");
}

TEST(LoadDesign, NamesTheMissingFile) {
  Board b;
  b.files.erase("h.drl");
  const Result<Design> d = b.load();
  ASSERT_FALSE(d.ok());
  EXPECT_EQ(d.problem().code, "DSN-001");
  EXPECT_NE(d.problem().file.find("h.drl"), std::string::npos);
}

TEST(LoadDesign, SaysWhenPlatingIsUnknownOrContradicted) {
  Board unknown, contradicted;
  unknown.more = "holes: [h.drl]\nnetlist: artwork\n";
  contradicted.files["h.drl"] = "M48\n;TYPE=NON_PLATED\nMETRIC\nT1C0.8\n%\nT1\nX5.0Y5.0\nM30\n";
  Diagnostics a, b;
  EXPECT_EQ(unknown.load(a)->holes[0].plated, true);
  EXPECT_TRUE(remarked(a, "DSN-014"));
  EXPECT_EQ(contradicted.load(b)->holes[0].plated, true);
  EXPECT_TRUE(remarked(b, "DSN-013"));
}

TEST(LoadDesign, KeepsSlotNumbersApartAcrossFiles) {
  Board b;
  b.files["h.drl"] = "M48\nMETRIC\nT1C0.8\n%\nT1\nX5.0Y5.0G85X6.0Y5.0\nM30\n";
  b.files["i.drl"] = "M48\nMETRIC\nT1C0.9\n%\nT1\nX7.0Y5.0G85X8.0Y5.0\nM30\n";
  b.more = "holes: [{file: h.drl, plated: true}, {file: i.drl, plated: false}]\nnetlist: artwork\n";
  const Result<Design> d = b.load();
  ASSERT_TRUE(d.ok()) << format(d.problem());
  EXPECT_NE(d->holes[0].slot, d->holes[1].slot);
}

TEST(LoadDesign, SettlesAnOpenNumberFormatByTheCopper) {
  Board b;  // 1500 counts of 0.01 mm: metric 3.3 would put the hole at 1.5 mm, where no pad is
  b.files["top.gbr"] = copper("", "X15000000Y15000000D03*\n");
  b.files["h.drl"] = "M48\nMETRIC,TZ\nT1C0.8\n%\nT1\nX1500Y1500\nM30\n";
  Diagnostics notes;
  const Result<Design> d = b.load(notes);
  ASSERT_TRUE(d.ok()) << format(d.problem());
  EXPECT_EQ(d->holes[0].from, position_mm(15, 15));
  EXPECT_TRUE(remarked(notes, "DSN-011"));
}

TEST(LoadDesign, LetsASettledFileSpeakForItsNeighbour) {
  Board b;
  b.files["top.gbr"] = copper("", "X15000000Y15000000D03*\n");
  b.files["h.drl"] = "M48\nMETRIC,TZ\nT1C0.8\n%\nT1\nX1500Y1500\nM30\n";
  b.files["i.drl"] = "M48\nMETRIC,TZ\nT1C3.0\n%\nT1\nX4000Y4000\nM30\n";
  b.more = "holes: [{file: i.drl, plated: false}, {file: h.drl, plated: true}]\nnetlist: artwork\n";
  const Result<Design> d = b.load();
  ASSERT_TRUE(d.ok()) << format(d.problem());
  EXPECT_EQ(d->holes[0].from, position_mm(40, 40));
}

// One big pad at the origin would take in all holes of a reading that is a hundred times too small.
TEST(LoadDesign, CountsPadsNotHoles) {
  Board b;
  std::string pads = "%ADD11R,6.0X6.0*%\nD11*\nX0Y0D03*\nD10*\n", holes;
  for (int i = 1; i <= 6; ++i) {
    pads += "X" + std::to_string(i) + "0000000Y20000000D03*\n";
    holes += "X0" + std::to_string(i) + "0000Y020000\n";
  }
  b.files["top.gbr"] = copper("", pads);
  b.files["h.drl"] = "M48\nMETRIC\nT1C0.8\n%\nT1\n" + holes + "M30\n";
  const Result<Design> d = b.load();
  ASSERT_TRUE(d.ok()) << format(d.problem());
  EXPECT_EQ(d->holes[5].from, position_mm(60, 20));
}

TEST(LoadDesign, SaysWhenALayerIsEmpty) {
  Board b;
  b.files["top.gbr"] = copper("", "");
  Diagnostics notes;
  ASSERT_TRUE(b.load(notes).ok());
  EXPECT_TRUE(remarked(notes, "DSN-008"));
}

TEST(LoadDesign, RefusesToGuessANumberFormat) {
  Board b;
  b.files["h.drl"] = "M48\nMETRIC\nT1C0.8\n%\nT1\nX4000Y4000\nM30\n";
  EXPECT_EQ(b.code(), "DSN-010");
  b.files["h.drl"] = "M48\nMETRIC,TZ\nT1C0.8\n%\nT1\nX4000Y4000\nM30\n";
  Diagnostics notes;
  ASSERT_TRUE(b.load(notes).ok());
  EXPECT_TRUE(remarked(notes, "DSN-012"));
}

TEST(DesignHash, ChangesWithWhatAProbeMeetsOnly) {
  const std::string plain = Board{}.hash();
  EXPECT_EQ(plain.size(), 64u);
  Board limits, stage, swapped, netlist, ties, plating;
  limits.more += "limits: {voltage: 5 V}\n";
  EXPECT_EQ(limits.hash(), plain);
  stage.more += "joins: all\n";
  EXPECT_EQ(stage.hash(), plain);
  swapped.files["top.gbr"] = copper("", "X1D03*\n");
  EXPECT_NE(swapped.hash(), plain);
  netlist.files["n.d356"] = "C  remark\n" + kNets;
  EXPECT_NE(netlist.hash(), plain);
  ties.more += "net-ties: [[A, B]]\n";
  EXPECT_NE(ties.hash(), plain);
  plating.more = "holes: [{file: h.drl, plated: false}]\nnetlist: n.d356\n";
  EXPECT_NE(plating.hash(), plain);
}

struct Real {
  const char *folder, *top, *bottom, *holes;
};
class RealDesign : public testing::TestWithParam<Real> {};
void PrintTo(const Real& r, std::ostream* out) { *out << r.folder; }
// Oracle: at least nine holes in ten of a right reading lie within the copper's extent, and most on
// a pad; a reading wrong by ten cannot.
TEST_P(RealDesign, PutsItsHolesOntoItsCopper) {
  ISTHMUS_NEEDS_BOARDS(boards);
  BoardFile b;
  b.path = boards / GetParam().folder / "board.yaml";
  const auto in = [&](const char* name) { return boards / GetParam().folder / name; };
  if (*GetParam().top) b.top = in(GetParam().top);
  b.bottom = in(GetParam().bottom);
  b.holes = {{in(GetParam().holes), true, std::nullopt}};
  Diagnostics notes;
  const Result<Design> d = load_design(b, notes);
  ASSERT_TRUE(d.ok()) << format(d.problem());
  Box extent = d->copper.back().extent;
  extent.add(d->copper[0].extent);
  const auto inside = std::count_if(d->holes.begin(), d->holes.end(),
                                    [&](const Hole& h) { return extent.contains(h.from); });
  EXPECT_GE(10 * inside, 9 * static_cast<std::ptrdiff_t>(d->holes.size()));
  Box holes;
  for (const Hole& h : d->holes) holes.add(h.from);
  EXPECT_GT(2 * (holes.hi.x - holes.lo.x), extent.hi.x - extent.lo.x);
}
INSTANTIATE_TEST_SUITE_P(
    OpenFormats, RealDesign,
    testing::Values(
        Real{"dmx", "top_copper.GTL", "bottom_copper.GBL", "ncdrill.DRD"},
        Real{"numpres", "numpres.pcb.output_group1.grb", "numpres.pcb.output_group2.grb",
             "numpres.pcb.output_plated-drill.grb"},
        Real{"stepper", "driver.top.gbr", "driver.bottom.gbr", "driver.plated-drill.cnc"},
        Real{"mcu-clone", "freeduino.cmp", "freeduino.sol", "freeduino.drd"},
        Real{"panel-mm", "", "panel_Bottom.gbr", "panel.drl"},
        Real{"gyro-panel", "combined.gtl", "combined.gbl", "combined.txt"},
        Real{"school", "copper_top.gbr", "copper_bottom.gbr", "drills.xln"},
        Real{"debug-header", "bt-debug-v1.GTL", "bt-debug-v1.GBL", "bt-debug-v1-RoundHoles.TXT"}));

// The two holes of the unplated file lie between the others, as the plated file's format says, not
// near the origin, where a reading that is a hundred times too small meets copper by chance.
TEST(RealDesigns, ReadAFileOfFewHolesLikeItsNeighbour) {
  ISTHMUS_NEEDS_BOARDS(boards);
  BoardFile b;
  const auto folder = boards / "stepper";
  b.top = folder / "driver.top.gbr";
  b.bottom = folder / "driver.bottom.gbr";
  b.holes = {{folder / "driver.unplated-drill.cnc", false, std::nullopt},
             {folder / "driver.plated-drill.cnc", true, std::nullopt}};
  Diagnostics notes;
  const Result<Design> d = load_design(b, notes);
  ASSERT_TRUE(d.ok()) << format(d.problem());
  EXPECT_EQ(d->holes[0].from, (Position{18'415'000, 65'405'000}));  // 0.725 and 2.575 inch
}

}  // namespace
}  // namespace isthmus::formats
