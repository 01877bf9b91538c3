// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/recognise.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "isthmus/formats/design.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

const std::string kGerber = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.5*%\nD10*\nX1D03*\nM02*\n";
std::string gerber(const std::string& function) {
  return "%TF.FileFunction," + function + "*%\n" + kGerber;
}
const std::string kDrill = "M48\nMETRIC\nT1C0.8\n%\nT1\nX5.0Y5.0\nM30\n";
const std::string kNets =
    "P  UNITS CUST 1\n317A                J1    -1    D0800PA00X+005000Y+005000\n999\n";
using Files = std::map<std::string, std::string>;

std::vector<Recognised> look(const TempDir& dir, const Files& files) {
  for (const auto& [name, bytes] : files) dir.write("in/" + name, bytes);
  Diagnostics notes;
  const auto found = recognise({dir.path() / "in"}, dir.path(), notes);
  EXPECT_TRUE(found.ok());
  return found.ok() ? *found : std::vector<Recognised>{};
}
Recognised look_at(const std::string& name, const std::string& bytes) {
  const TempDir dir;
  const std::vector<Recognised> found = look(dir, {{name, bytes}});
  return found.size() == 1 ? found[0] : Recognised{};
}
Result<BoardFile> assemble(const TempDir& dir, const Files& files, Diagnostics& notes) {
  return assemble_board(look(dir, files), "b", notes);
}
std::string code_of(const Files& files) {
  const TempDir dir;
  Diagnostics notes;
  const Result<BoardFile> b = assemble(dir, files, notes);
  return b.ok() ? "none" : b.problem().code;
}
bool remarked(const Diagnostics& notes, const std::string& code) {
  return std::any_of(notes.list().begin(), notes.list().end(),
                     [&](const Diagnostic& d) { return d.what.code == code; });
}

TEST(Recognise, BelievesTheFileBeforeItsName) {
  const Recognised r = look_at("bottom.gbl", gerber("Copper,L1,Top"));
  EXPECT_EQ(r.role, FileRole::copper);
  EXPECT_EQ(r.side, Side::top);
  EXPECT_EQ(r.layer, 1);
  EXPECT_TRUE(r.by_content);
  EXPECT_EQ(r.why, "says .FileFunction Copper,L1,Top");
}

TEST(Recognise, ReadsFunctionsFromComments) {
  const Recognised r = look_at("x.gbr", "G04 #@! TF.FileFunction,Soldermask,Bot*\n" + kGerber);
  EXPECT_EQ(r.role, FileRole::mask);
  EXPECT_EQ(r.side, Side::bottom);
  EXPECT_EQ(look_at("legend.gtl", gerber("Legend,Top")).role, FileRole::other);
}

struct Named {
  const char* file;
  FileRole role;
  Side side;
};
void PrintTo(const Named& n, std::ostream* out) { *out << n.file; }
class NamedGerber : public testing::TestWithParam<Named> {};
// Names in common use; no source.
TEST_P(NamedGerber, IsRecognised) {
  const Recognised r = look_at(GetParam().file, kGerber);
  EXPECT_EQ(r.role, GetParam().role);
  EXPECT_EQ(r.side, GetParam().side);
  EXPECT_FALSE(r.by_content);
}
INSTANTIATE_TEST_SUITE_P(All, NamedGerber,
                         testing::Values(Named{"a.gtl", FileRole::copper, Side::top},
                                         Named{"A.GBL", FileRole::copper, Side::bottom},
                                         Named{"a.cmp", FileRole::copper, Side::top},
                                         Named{"a.sol", FileRole::copper, Side::bottom},
                                         Named{"tide-F_Cu.gbr", FileRole::copper, Side::top},
                                         Named{"tide-B_Cu.gbr", FileRole::copper, Side::bottom},
                                         Named{"tide.top.gbr", FileRole::copper, Side::top},
                                         Named{"TideBottom.gbr", FileRole::copper, Side::bottom},
                                         Named{"tide.bottommask.gbr", FileRole::mask, Side::bottom},
                                         Named{"tide_TopMask.gbr", FileRole::mask, Side::top},
                                         Named{"a.gts", FileRole::mask, Side::top},
                                         Named{"a.StopBot", FileRole::mask, Side::bottom},
                                         Named{"a.gko", FileRole::outline, Side::both},
                                         Named{"tide-Edge_Cuts.gbr", FileRole::outline, Side::both},
                                         Named{"top-paste.gbr", FileRole::other, Side::both},
                                         Named{"front.gto", FileRole::other, Side::both},
                                         Named{"tide-soldermask.gbr", FileRole::other, Side::both},
                                         Named{"holes.gbr", FileRole::drill, Side::both},
                                         Named{"a.xln", FileRole::drill, Side::both},
                                         Named{"tide.gbr", FileRole::other, Side::both}));

TEST(Recognise, TellsDrillAndNetlistByContent) {
  EXPECT_EQ(look_at("a.txt", kDrill).role, FileRole::drill);
  EXPECT_EQ(look_at("a.gtl", kDrill).role, FileRole::drill);
  EXPECT_EQ(look_at("a.txt", kNets).role, FileRole::netlist);
  EXPECT_EQ(look_at("a.drl", "just text\n").role, FileRole::other);
  EXPECT_EQ(look_at("a.gtl", std::string("%FS\0", 4)).role, FileRole::other);
}

TEST(Recognise, TakesPlatingFromTheNameOnlyWhereTheFileIsSilent) {
  EXPECT_EQ(look_at("a-NPTH.drl", kDrill).plated, false);
  EXPECT_EQ(look_at("a-PTH.drl", kDrill).plated, true);
  EXPECT_FALSE(look_at("a.drl", kDrill).plated);
  EXPECT_FALSE(look_at("a-NPTH.drl", "; #@! TF.FileFunction,Plated,1,2,PTH\n" + kDrill).plated);
}

TEST(Recognise, SearchesFourFoldersDeep) {
  const TempDir dir;
  const auto found = look(dir, {{"a.gtl", kGerber},
                                {"1/2/3/4/b.gbl", kGerber},
                                {"1/2/3/4/5/c.gts", kGerber},
                                {".git/d.gtl", kGerber}});
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[0].depth, 4);
  EXPECT_EQ(found[1].depth, 0);
}

TEST(Recognise, ReadsFreeTextWhereNothingElseSpeaks) {
  const auto role = [](const std::string& name, const std::string& text) {
    const Recognised r = look_at(name, "G04 " + text + "*\n" + kGerber);
    return std::tuple(r.role, r.side, r.by_comment);
  };
  EXPECT_EQ(role("1", "Layer: solder side"), std::tuple(FileRole::copper, Side::bottom, true));
  EXPECT_EQ(role("1", "solder mask component side"), std::tuple(FileRole::mask, Side::top, true));
  // Its name speaks; a comment on parts is none on layers; what contradicts itself says nothing.
  EXPECT_EQ(role("a.gtl", "solder side"), std::tuple(FileRole::copper, Side::top, false));
  EXPECT_EQ(role("1", "component count 12"), std::tuple(FileRole::other, Side::both, false));
  EXPECT_EQ(role("1", "side: top*\nG04 side: bottom"),
            std::tuple(FileRole::other, Side::both, false));
  EXPECT_EQ(role("1.gto", "side: top"), std::tuple(FileRole::other, Side::both, false));
}

TEST(Recognise, StopsAtTooManyFilesAndLeavesInnerArchives) {
  const TempDir dir;
  dir.write("in/a.zip", "PK\x03\x04");
  Diagnostics notes;
  ASSERT_TRUE(recognise({dir.path() / "in"}, dir.path(), notes).ok());
  EXPECT_TRUE(remarked(notes, "IMP-022"));
  for (int i = 0; i <= 2000; ++i) dir.write("in/" + std::to_string(i), "");
  EXPECT_EQ(recognise({dir.path() / "in"}, dir.path(), notes).problem().code, "IMP-008");
}

TEST(Recognise, NamesWhatIsMissing) {
  Diagnostics notes;
  EXPECT_EQ(recognise({"no-such-folder"}, ".", notes).problem().code, "IMP-001");
}

TEST(AssembleBoard, PutsATwoSidedBoardTogether) {
  const TempDir dir;
  Diagnostics notes;
  const Result<BoardFile> b = assemble(dir,
                                       {{"a.gtl", kGerber},
                                        {"a.gbl", kGerber},
                                        {"a.gts", kGerber},
                                        {"a.gko", kGerber},
                                        {"a-PTH.drl", kDrill},
                                        {"a.ipc", kNets},
                                        {"readme", "x"}},
                                       notes);
  ASSERT_TRUE(b.ok()) << format(b.problem());
  EXPECT_EQ(b->top->filename(), "a.gtl");
  EXPECT_EQ(b->outline->filename(), "a.gko");
  EXPECT_EQ(b->mask_top->filename(), "a.gts");
  EXPECT_EQ(b->holes[0].plated, true);
  EXPECT_EQ(b->netlist.filename(), "a.ipc");
  EXPECT_EQ(b->stage, Stage::etched);
  for (const char* code : {"IMP-020", "IMP-021", "IMP-024", "IMP-026"}) {
    EXPECT_TRUE(remarked(notes, code)) << code;
  }
}

TEST(AssembleBoard, WritesADescriptionThatIsReadBack) {
  const TempDir dir;
  Diagnostics notes;
  Result<BoardFile> b =
      assemble(dir, {{"a.gtl", kGerber}, {"a.drl", kDrill}, {"a.ipc", kNets}}, notes);
  ASSERT_TRUE(b.ok()) << format(b.problem());
  EXPECT_EQ(b->stage, Stage::etched_top);
  b->path = dir.path() / "board.yaml";
  const auto file = dir.write("board.yaml", write_board_file(*b));
  const Result<BoardFile> back = read_board_file(file);
  ASSERT_TRUE(back.ok()) << format(back.problem());
  EXPECT_EQ(back->top, b->top);
  EXPECT_EQ(back->limits.excess, Ohms{0.2});  // so that the demo's neck is found
  EXPECT_TRUE(load_design(*back, notes).ok());
}

TEST(AssembleBoard, ChoosesTheNetlistSource) {
  const TempDir with, without;
  Diagnostics a, b;
  const std::string nets = "%TO.N,GND*%\n" + kGerber;
  EXPECT_EQ(assemble(with, {{"a.gtl", nets}}, a)->netlist_source, NetlistSource::gerber_x2);
  EXPECT_EQ(assemble(without, {{"a.gtl", kGerber}}, b)->netlist_source, NetlistSource::artwork);
  EXPECT_TRUE(remarked(b, "IMP-025"));
}

TEST(AssembleBoard, RefusesTwoFilesForOneRole) {
  const std::string other = "G04 another*\n" + kGerber;
  EXPECT_EQ(code_of({{"a.gtl", kGerber}, {"b.gtl", other}}), "IMP-005");
  EXPECT_EQ(code_of({{"a.gtl", kGerber}, {"a.ipc", kNets}, {"b.ipc", kNets + "\n"}}), "IMP-005");
  EXPECT_EQ(code_of({{"a.gtl", gerber("Copper,L1,Top")}, {"b.gtl", kGerber}}), "none");
  EXPECT_EQ(code_of({{"1/a.gtl", kGerber}, {"2/a.gtl", other}}), "IMP-005");
  EXPECT_EQ(code_of({{"a.gtl", kGerber}, {"old/a.gtl", gerber("Copper,L1,Top")}}), "none");
}

TEST(AssembleBoard, RefusesABoardWithoutCopperOrWithALayerMissing) {
  EXPECT_EQ(code_of({{"a.gts", kGerber}}), "IMP-006");
  EXPECT_EQ(code_of({{"a.gtl", kGerber}, {"b.gbl", gerber("Copper,L4,Bot")}}), "IMP-007");
  EXPECT_EQ(
      code_of(
          {{"a.gtl", kGerber}, {"b.gbl", gerber("Copper,L4,Bot")}, {"c", gerber("Copper,L3,Inr")}}),
      "IMP-007");
}

TEST(AssembleBoard, OrdersInnerLayersAndSpans) {
  const TempDir dir;
  Diagnostics notes;
  const Result<BoardFile> b = assemble(dir,
                                       {{"a.gtl", kGerber},
                                        {"a.gbl", kGerber},
                                        {"z-In1_Cu.gbr", kGerber},
                                        {"a-In2_Cu.gbr", kGerber},
                                        {"d-front-in1.drl", kDrill},
                                        {"e-in2-back.drl", kDrill + "\n"}},
                                       notes);
  ASSERT_TRUE(b.ok()) << format(b.problem());
  ASSERT_EQ(b->inner.size(), 2u);
  EXPECT_EQ(b->inner[0].filename(), "z-In1_Cu.gbr");
  EXPECT_EQ(b->holes[0].span, (std::pair{1, 2}));
  EXPECT_TRUE(remarked(notes, "IMP-023"));
}

TEST(AssembleBoard, KeepsOneOfTwoDrillFilesWithTheSameHoles) {
  const TempDir dir;
  Diagnostics notes;
  const std::string same = "%FSLAX33Y33*%\n%MOMM*%\n%ADD10C,0.8*%\nD10*\nX5000Y5000D03*\nM02*\n";
  const Result<BoardFile> b =
      assemble(dir, {{"a.gtl", kGerber}, {"a.drl", kDrill}, {"a.xln", same}}, notes);
  ASSERT_TRUE(b.ok()) << format(b.problem());
  EXPECT_EQ(b->holes.size(), 1u);
}

struct Real {
  const char* folder;
  std::size_t inner, holes;
  bool top, netlist;
};
void PrintTo(const Real& r, std::ostream* out) { *out << r.folder; }
class RealFolder : public testing::TestWithParam<Real> {};
// Layers and netlists: the table in the boards' README. Each folder is also read whole.
TEST_P(RealFolder, IsImportedAndLoaded) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Diagnostics notes;
  const auto found = recognise({boards / GetParam().folder}, ".", notes);
  ASSERT_TRUE(found.ok());
  const Result<BoardFile> b = assemble_board(*found, GetParam().folder, notes);
  ASSERT_TRUE(b.ok()) << format(b.problem());
  EXPECT_TRUE(b->bottom);
  EXPECT_EQ(b->top.has_value(), GetParam().top);
  EXPECT_EQ(b->inner.size(), GetParam().inner);
  EXPECT_EQ(b->holes.size(), GetParam().holes);
  EXPECT_EQ(b->netlist_source == NetlistSource::file, GetParam().netlist);
  const Result<Design> d = load_design(*b, notes);
  ASSERT_TRUE(d.ok()) << format(d.problem());
}
INSTANTIATE_TEST_SUITE_P(
    Boards, RealFolder,
    testing::Values(Real{"rom-programmer", 0, 2, true, true},
                    Real{"motion-light-4l", 2, 2, true, true}, Real{"ac-coupler", 0, 2, true, true},
                    Real{"prom-burner", 0, 2, true, true}, Real{"fx-switcher", 0, 2, true, true},
                    Real{"melody", 0, 2, true, true}, Real{"encoder", 0, 2, true, true},
                    Real{"usb-fpga-4l-blind", 2, 4, true, true},
                    Real{"many-pads", 0, 2, true, true}, Real{"dmx", 0, 1, true, true},
                    Real{"panel-mm", 0, 1, false, false}, Real{"gyro-panel", 0, 1, true, false},
                    Real{"school", 0, 1, true, false}, Real{"iot-bank", 0, 1, true, false},
                    Real{"stepper", 0, 2, true, false}, Real{"debug-header", 0, 2, true, false},
                    Real{"rfid-reader", 0, 1, true, false}, Real{"mcu-clone", 0, 1, true, false}));

// Its groups are named by number; their comments list "component" and "solder".
TEST(RealFolders, WithoutSidesInTheirNamesAreToldByTheirComments) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Diagnostics notes;
  const auto found = recognise({boards / "numpres"}, ".", notes);
  ASSERT_TRUE(found.ok());
  const auto board = assemble_board(*found, "n", notes);
  ASSERT_TRUE(board.ok()) << format(board.problem());
  EXPECT_EQ(board->top->filename(), "numpres.pcb.output_group2.grb");
  EXPECT_EQ(board->bottom->filename(), "numpres.pcb.output_group1.grb");
  EXPECT_TRUE(remarked(notes, "IMP-027"));
}

}  // namespace
}  // namespace isthmus::formats
