// SPDX-License-Identifier: Apache-2.0
// Holes by what they are for, on a board of four holes of which it is plain to see.
#include "isthmus/formats/hole_groups.hpp"

#include <gtest/gtest.h>

#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

// Pads on both sides at x = 0, 5, 10, 15 mm. The bottom ties 0 to 10; the top ties 0 to 5.
const std::string kPads =
    "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.6*%\n%ADD11C,0.3*%\nD10*\nX0Y0D03*\nX5000000D03*\n"
    "X10000000D03*\nX15000000D03*\nD11*\n";

class HoleGroups : public ::testing::Test {
 protected:
  Result<Design> design(const std::string& joins) {
    dir_.write("t.gbr", kPads + "X0Y0D02*\nX5000000D01*\nM02*\n");
    dir_.write("b.gbr", kPads + "X0Y0D02*\nX0Y3000000D01*\nX10000000D01*\nY0D01*\nM02*\n");
    dir_.write("h.drl",
               "M48\nMETRIC\nT1C0.8\nT2C0.4\n%\nT1\nX0.0Y0.0\nX5.0Y0.0\nX10.0Y0.0\nT2\n"
               "X15.0Y0.0\nM30\n");
    const auto file = dir_.write("board.yaml",
                                 "isthmus: 1\nartwork: {top: t.gbr, bottom: b.gbr}\nholes: [{file: "
                                 "h.drl, plated: true}]\nnetlist: artwork\nstage: joined\njoins: " +
                                     joins + "\n");
    const auto board = read_board_file(file);
    if (!board) return board.problem();
    Diagnostics notes;
    return load_design(*board, notes);
  }
  TempDir dir_;
};

TEST_F(HoleGroups, AreToldByTheCopperAndTheHole) {
  const auto d = design("none");
  ASSERT_TRUE(d.ok()) << format(d.problem());
  std::string text;
  for (const GroupedHole& h : grouped_holes(*d)) {
    text += std::to_string(h.at.x / 1'000'000) + " " + std::string(name(h.group)) + "\n";
  }
  EXPECT_EQ(text, "15 via\n0 component\n5 lead\n10 lead\n");
}

TEST_F(HoleGroups, OfJoinsBecomeAList) {
  const auto d = design("{vias: wire, leads: deferred}");
  ASSERT_TRUE(d.ok()) << format(d.problem());
  EXPECT_EQ(d->board.joins_mode, JoinsMode::listed);
  ASSERT_EQ(d->board.joins.size(), 3u);
  EXPECT_EQ(d->board.joins[0].at.x, 15'000'000);
  EXPECT_FALSE(d->board.joins[0].deferred);
  EXPECT_TRUE(d->board.joins[1].deferred);
}

TEST_F(HoleGroups, OfAllTakeEveryHole) {
  const auto d = design("{all: rivet}");
  ASSERT_TRUE(d.ok()) << format(d.problem());
  ASSERT_EQ(d->board.joins.size(), 4u);
  EXPECT_EQ(d->board.joins[3].kind, JoinKind::rivet);
}

TEST_F(HoleGroups, AreWrittenAndReadBack) {
  const auto file = parse_board_file(
      "isthmus: 1\nartwork: {top: t.gbr}\nnetlist: artwork\nstage: joined\njoins: {vias: wire, "
      "leads: deferred}\n",
      "board.yaml");
  ASSERT_TRUE(file.ok()) << format(file.problem());
  EXPECT_NE(write_board_file(*file).find("joins: {vias: wire, leads: deferred}\n"),
            std::string::npos);
  EXPECT_EQ(design("{wires: wire}").problem().code, "YML-002");
  EXPECT_EQ(design("{vias: glue}").problem().code, "YML-010");
}

}  // namespace
}  // namespace isthmus::formats
