// SPDX-License-Identifier: Apache-2.0
// Folders of the kinds people have, each small and of our own: what is taken, left and asked.
// Oracle: what each folder was made of.
#include <gtest/gtest.h>
#include <zip.h>

#include <algorithm>
#include <map>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/import.hpp"
#include "isthmus/formats/recognise.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

// Eight holes of no regular pattern, in millimetres, and pads with two tracks around them.
constexpr std::array<std::pair<double, double>, 8> kHoles{{{3, 4},
                                                           {7.1, 11.3},
                                                           {12.7, 2.2},
                                                           {18.4, 9.9},
                                                           {21.3, 16.1},
                                                           {26.2, 5.7},
                                                           {29.9, 13.4},
                                                           {5.5, 18.8}}};

std::string number(double v) { return std::to_string(std::llround(v * 1e6)); }

std::string copper(const std::string& head = "") {
  std::string out = head + "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.2*%\n%ADD11C,0.2*%\nD10*\n";
  for (const auto& [x, y] : kHoles) out += "X" + number(x) + "Y" + number(y) + "D03*\n";
  return out + "D11*\nX12700000Y2200000D02*\nX18400000Y9900000D01*\nM02*\n";
}

// Places with `decimals` of a unit of `unit` mm, without a point.
std::string places(double unit, int decimals) {
  std::string out;
  for (const auto& [x, y] : kHoles) {
    const double scale = std::pow(10, decimals) / unit;
    out += "X" + std::to_string(std::llround(x * scale)) + "Y" +
           std::to_string(std::llround(y * scale)) + "\n";
  }
  return out;
}
const std::string kDrill = "M48\nMETRIC,TZ,000.000\nT1C0.8\n%\nT1\n" + places(1, 3) + "M30\n";

// A cross of two strokes at each hole.
std::string drawing() {
  std::string out = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.2*%\nD10*\n";
  for (const auto& [x, y] : kHoles) {
    out += "X" + number(x - 1) + "Y" + number(y) + "D02*\nX" + number(x + 1) + "D01*\n";
  }
  return out + "M02*\n";
}

using Files = std::map<std::string, std::string>;

class ImportKinds : public ::testing::Test {
 protected:
  Result<Imported> import(const Files& files) {
    for (const auto& [name, bytes] : files) dir_.write("in/" + name, bytes);
    return import_files({{dir_.path() / "in"}, dir_.path() / "board.yaml", "b", {}}, notes_);
  }
  // "holes: a.drl b.drl", "copper: a.gtl".
  std::string holes(const Files& files) {
    const auto imported = import(files);
    if (!imported) return imported.problem().code;
    if (imported->trouble) return imported->trouble->code;
    std::string out;
    for (const HoleFileEntry& h : imported->board.holes) {
      out += (out.empty() ? "" : " ") + h.file.filename().string();
      if (h.plated) out += *h.plated ? "+" : "-";
    }
    return out;
  }
  std::string top(const Files& files) {
    const auto imported = import(files);
    if (!imported) return imported.problem().code;
    return imported->board.top ? imported->board.top->filename().string() : "none";
  }
  [[nodiscard]] bool said(const std::string& code) const {
    return std::ranges::any_of(notes_.list(),
                               [&](const Diagnostic& d) { return d.what.code == code; });
  }

  TempDir dir_;
  Diagnostics notes_;
};

TEST_F(ImportKinds, ADrawingOfTheHolesIsNoDrillFile) {
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"a.drl", kDrill}, {"drill.gbr", drawing()}}), "a.drl");
}

TEST_F(ImportKinds, ADrawingAloneIsNoneEither) {
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"drill.gbr", drawing()}}), "");
}

TEST_F(ImportKinds, AGerberFileThatRepeatsTheHolesIsLeft) {
  std::string repeated = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.9*%\nD10*\n";
  for (const auto& [x, y] : kHoles) repeated += "X" + number(x) + "Y" + number(y) + "D03*\n";
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"a.drl", kDrill}, {"a.drd", repeated + "M02*\n"}}),
            "a.drl");
}

TEST_F(ImportKinds, ARouteAroundTheBoardIsNoHole) {
  const std::string route =
      "M48\n;TYPE=NON_PLATED\nMETRIC\nT1C2.0\n%\nT1\nG00X0.0Y0.0\nM15\nG01X35.0Y0.0\n"
      "G01X35.0Y25.0\nG01X0.0Y25.0\nG01X0.0Y0.0\nM16\nM30\n";
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"a.drl", kDrill}, {"route.drl", route}}), "a.drl");
}

TEST_F(ImportKinds, SlotsInTheCornersAreHoles) {
  const std::string slots =
      "M48\n;TYPE=NON_PLATED\nMETRIC\nT1C1.0\n%\nT1\nX0.0Y0.0G85X2.0Y0.0\n"
      "X33.0Y25.0G85X35.0Y25.0\nM30\n";
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"a.drl", kDrill}, {"slots.drl", slots}}),
            "a.drl+ slots.drl");
}

TEST_F(ImportKinds, OneFileOfAllHolesBesideTheTwoByPlatingIsLeft) {
  const std::string half = "M48\nMETRIC,TZ,000.000\nT1C0.8\n%\nT1\n";
  const std::string all = places(1, 3), first = all.substr(0, all.find('\n') + 1);
  EXPECT_EQ(holes({{"a.gtl", copper()},
                   {"a.drl", kDrill},
                   {"a-PTH.drl", half + all.substr(first.size()) + "M30\n"},
                   {"a-NPTH.drl", half + first + "M30\n"}}),
            "a-NPTH.drl- a-PTH.drl+");
}

TEST_F(ImportKinds, TheSiblingOfAnUnplatedFileIsPlated) {
  const std::string other = "M48\nMETRIC\nT1C3.0\n%\nT1\nX33.0Y22.0\nM30\n";
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"a.drl", kDrill}, {"a (Unplated).drl", other}}),
            "a (Unplated).drl- a.drl+");
}

// No header, no unit, no decimals: in inches of four or five decimals, and in millimetres.
TEST_F(ImportKinds, AFileWithoutAUnitIsSettledByTheCopper) {
  for (const auto& [unit, decimals] : {std::pair(25.4, 4), {25.4, 5}, {1.0, 2}, {1.0, 4}}) {
    const std::string size = unit > 1 ? "0.0315" : "0.8";
    const Files files{
        {"a.gtl", copper()},
        {"thruhole.tap", "%\nT1C" + size + "F200S100\n" + places(unit, decimals) + "M30\n"}};
    EXPECT_EQ(holes(files), "thruhole.tap") << unit << " " << decimals;
    Diagnostics ignored;
    const auto imported =
        import_files({{dir_.path() / "in"}, dir_.path() / "board.yaml", "b", {}}, ignored);
    const auto design = load_design(imported->board, ignored);
    ASSERT_TRUE(design.ok()) << format(design.problem());
    ASSERT_EQ(design->holes.size(), kHoles.size());
    EXPECT_NEAR(to_mm(design->holes[1].from.x), 7.1, 0.02);
    EXPECT_NEAR(to_mm(design->holes[1].diameter.value), 0.8, 0.001);
  }
}

TEST_F(ImportKinds, AFileWithoutAUnitThatFitsNothingIsRefused) {
  EXPECT_EQ(holes({{"a.gtl", copper()}, {"a.tap", "%\nT1C0.02\nX1234Y4321\nX99Y5\nM30\n"}}),
            "DRL-007");
}

TEST_F(ImportKinds, AnArchiveWithTheCopperAndTheNetlistBesideItAreBothTaken) {
  dir_.write("in/nets.ipc",
             "P  UNITS CUST 1\n317A                J1    -1    D0800PA00X+003000Y+004000\n999\n");
  int error = 0;
  zip_t* zip = zip_open((dir_.path() / "in/gauge.zip").c_str(), ZIP_CREATE, &error);
  const std::string bytes = copper();
  for (const char* name : {"gauge.gtl", "gauge.gbl"}) {
    zip_file_add(zip, name, zip_source_buffer(zip, bytes.data(), bytes.size(), 0), 0);
  }
  ASSERT_EQ(zip_close(zip), 0);
  const auto imported = import({});
  ASSERT_TRUE(imported.ok()) << format(imported.problem());
  EXPECT_EQ(imported->board.top->filename(), "gauge.gtl");
  EXPECT_EQ(imported->board.netlist.filename(), "nets.ipc");
}

TEST_F(ImportKinds, TheSameBytesTwiceAreOneFile) {
  EXPECT_EQ(top({{"a.gtl", copper()}, {"b.gtl", copper()}}), "a.gtl");
}

TEST_F(ImportKinds, BackupsAreLeft) {
  EXPECT_EQ(top({{"top.art", copper()}, {"top.art,1", copper("G04 older*\n")}}), "top.art");
}

TEST_F(ImportKinds, TheMoreTellingNameWins) {
  EXPECT_EQ(top({{"TOP.art", copper("G04 older*\n")}, {"Layer_Copper_TOP.art", copper()}}),
            "Layer_Copper_TOP.art");
}

TEST_F(ImportKinds, TheNewerOfTwoWins) {
  const auto dated = [](const std::string& day) {
    return copper("G04 Origin Date:  Tue Feb " + day + " 13:52:37 2026*\n");
  };
  EXPECT_EQ(top({{"a.gtl", dated("03")}, {"b.gtl", dated("05")}}), "b.gtl");
  EXPECT_TRUE(said("IMP-034"));
}

TEST_F(ImportKinds, NamesThatDoNotAgreeWithTheTextAreAskedFor) {
  EXPECT_EQ(top({{"a.gtl", copper("%INSolder Paste Top*%\n")}, {"a.gbl", copper()}}), "IMP-031");
}

TEST_F(ImportKinds, WhatLooksLikeCopperIsNotLeftInPlaceOfASide) {
  EXPECT_EQ(top({{"a.gbl", copper()}, {"1.dat", copper("G04 x*\n")}, {"a.drl", kDrill}}),
            "IMP-033");
}

TEST_F(ImportKinds, WhatLooksLikeCopperBesideBothSidesIsNamed) {
  EXPECT_EQ(top({{"a.gtl", copper()},
                 {"a.gbl", copper()},
                 {"1.dat", copper("G04 x*\n")},
                 {"a.drl", kDrill}}),
            "a.gtl");
  EXPECT_TRUE(said("IMP-033"));
}

TEST_F(ImportKinds, LayersByNumberAloneAreTopInnerAndBottom) {
  const auto imported = import({{"layer1.gbr", copper()},
                                {"layer2.gbr", copper("G04 2*\n")},
                                {"layer3.gbr", copper("G04 3*\n")},
                                {"layer4.gbr", copper("G04 4*\n")}});
  ASSERT_TRUE(imported.ok()) << format(imported.problem());
  EXPECT_EQ(imported->board.top->filename(), "layer1.gbr");
  EXPECT_EQ(imported->board.bottom->filename(), "layer4.gbr");
  ASSERT_EQ(imported->board.inner.size(), 2u);
  EXPECT_EQ(imported->board.inner[0].filename(), "layer2.gbr");
}

TEST_F(ImportKinds, AGapInTheInnerLayersIsALayerMissing) {
  EXPECT_EQ(top({{"a.gtl", copper()},
                 {"a.gbl", copper()},
                 {"a-In1_Cu.gbr", copper("G04 1*\n")},
                 {"a-In3_Cu.gbr", copper("G04 3*\n")}}),
            "IMP-007");
}

TEST_F(ImportKinds, AFileGivenByNameThatFindsNoPlaceIsAnError) {
  const auto a = dir_.write("a.gtl", copper()), b = dir_.write("x.dat", copper("G04 x*\n"));
  const auto imported = import_files({{a, b}, dir_.path() / "board.yaml", "b", {}}, notes_);
  ASSERT_FALSE(imported.ok());
  EXPECT_EQ(imported.problem().code, "IMP-032");
}

}  // namespace
}  // namespace isthmus::formats
