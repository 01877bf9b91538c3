// SPDX-License-Identifier: Apache-2.0
// Every real board, moved, mirrored, shuffled, in other units or twice, written out by our own
// writers and read back, falls into the same pieces of copper, to the point. Oracle: the board
// itself.
//
// What writing moves: nothing in millimetres (4.6 is the nanometre), but round ends get chords of
// their own within 1 um after a turn; in inches each Gerber coordinate up to 12.7 nm, so that edges
// come 36 nm nearer or farther at most; the netlist's points 0.5 um, in inches 1.27 um. Copper that
// hangs together by less would be drawn joined or apart by chance; these boards have none such, so
// the partitions must be equal without exception.
#include "tests/expect/board_copies.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>

#include "isthmus/formats/recognise.hpp"
#include "tests/expect/partition.hpp"
#include "tests/expect/written_board.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::expect {
namespace {

using test::Unit;
using test::written_and_read;

struct RealBoard {
  const char* folder;
  bool slow{false};
};
void PrintTo(const RealBoard& board, std::ostream* out) { *out << board.folder; }
std::string name_of(const ::testing::TestParamInfo<RealBoard>& board) {
  std::string name = board.param.folder;
  std::replace(name.begin(), name.end(), '-', '_');
  return name;
}

formats::BoardFile board_file(const std::filesystem::path& folder) {
  formats::BoardFile file;
  if (folder.filename() == "numpres") {  // its names tell nothing
    file.top = folder / "numpres.pcb.output_group2.grb";
    file.bottom = folder / "numpres.pcb.output_group1.grb";
    file.holes.push_back({folder / "numpres.pcb.output_plated-drill.grb", true, {}});
  } else {
    Diagnostics notes;
    const test::TempDir work;
    const auto files = test::whole(formats::recognise({folder}, work.path(), notes));
    file = test::whole(formats::assemble_board(files, "board", notes));
  }
  file.stage = Stage::joined;
  file.joins_mode = formats::JoinsMode::all;
  return file;
}

// Copper and what must conduct; gaps and pairs, which take long, are left out.
void work_out(Board& board) {
  Diagnostics notes;
  board.copper = test::whole(copper::extract_copper(board.design));
  board.expectation = test::whole(expect_board(board.design, board.copper, {}, notes));
}

// As imported, all holes joined, with the netlist that its copper makes.
Board original(const std::filesystem::path& folder) {
  Diagnostics notes;
  Board board;
  board.design = test::whole(formats::load_design(board_file(folder), notes));
  work_out(board);
  board.design.netlist = test::numbered_netlist(board);
  board.design.board.netlist_source = formats::NetlistSource::file;
  work_out(board);
  EXPECT_EQ(test::contradictions(board.expectation), 0U);
  EXPECT_GT(board.expectation.groups.size(), 10U);
  return board;
}

void expect_copper(const formats::Design& written, const test::Partition& expected,
                   std::size_t islands) {
  Board after;
  after.design = written;
  work_out(after);
  EXPECT_EQ(test::contradictions(after.expectation), 0U);
  EXPECT_EQ(test::partition(after.expectation), expected);
  EXPECT_EQ(test::partition_by_copper(after.expectation), expected);
  EXPECT_EQ(after.copper.islands.size(), islands);
}

void expect_same_copper(const Board& before, const formats::Design& written) {
  expect_copper(written, test::partition(before.expectation), before.copper.islands.size());
}

test::Partition copy_of(const test::Partition& partition) {
  test::Partition copy;
  for (const test::PointIds& ids : partition) {
    test::PointIds renamed;
    for (std::string id : ids) {
      id.front() = test::kCopy;
      renamed.insert(id);
    }
    copy.insert(renamed);
  }
  return copy;
}

class CopyOfBoard : public ::testing::TestWithParam<RealBoard> {};
constexpr Position kFar{12'345'678, -7'654'321};

TEST_P(CopyOfBoard, MirroredTurnedShiftedShuffledInInchesIsTheSameCopper) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const Board board = original(boards / GetParam().folder);
  const test::Motion all{.mirror = true, .quarter_turns = 3, .shift = kFar};
  expect_same_copper(
      board, written_and_read(test::shuffled(test::moved(board.design, all), 5), Unit::inch));
}

TEST_P(CopyOfBoard, ChangedInOneWayIsTheSameCopper) {
  ISTHMUS_NEEDS_BOARDS(boards);
  ISTHMUS_SKIP_IF_SLOW(GetParam().slow);
  const Board board = original(boards / GetParam().folder);
  const auto expect_same = [&board](const char* what, const formats::Design& written) {
    SCOPED_TRACE(what);
    expect_same_copper(board, written);
  };
  const formats::Design& d = board.design;
  expect_same("as it is", written_and_read(d, Unit::mm));
  expect_same("in inches", written_and_read(d, Unit::inch));
  expect_same("shifted", written_and_read(test::moved(d, {.shift = kFar}), Unit::mm));
  expect_same("turned", written_and_read(test::moved(d, {.quarter_turns = 1}), Unit::mm));
  expect_same("mirrored", written_and_read(test::moved(d, {.mirror = true}), Unit::mm));
  expect_same("shuffled", written_and_read(test::shuffled(d, 5), Unit::mm));
}

TEST_P(CopyOfBoard, BesideTheBoardGivesTwiceTheNets) {
  ISTHMUS_NEEDS_BOARDS(boards);
  ISTHMUS_SKIP_IF_SLOW(GetParam().slow);
  const Board board = original(boards / GetParam().folder);
  const test::Partition once = test::partition(board.expectation);
  test::Partition expected = once;
  expected.merge(copy_of(once));
  ASSERT_EQ(expected.size(), 2 * once.size());
  expect_copper(written_and_read(test::twice(board.design), Unit::mm), expected,
                2 * board.copper.islands.size());
}

INSTANTIATE_TEST_SUITE_P(
    RealBoards, CopyOfBoard,
    ::testing::Values(RealBoard{"ac-coupler"}, RealBoard{"debug-header"}, RealBoard{"dmx"},
                      RealBoard{"encoder"}, RealBoard{"fx-switcher"}, RealBoard{"gyro-panel"},
                      RealBoard{"iot-bank", true}, RealBoard{"many-pads"}, RealBoard{"mcu-clone"},
                      RealBoard{"melody"}, RealBoard{"motion-light-4l"}, RealBoard{"numpres"},
                      RealBoard{"panel-mm"}, RealBoard{"prom-burner"}, RealBoard{"rfid-reader"},
                      RealBoard{"rom-programmer"}, RealBoard{"school"}, RealBoard{"stepper"},
                      RealBoard{"usb-fpga-4l-blind"}),
    name_of);

}  // namespace
}  // namespace isthmus::expect
