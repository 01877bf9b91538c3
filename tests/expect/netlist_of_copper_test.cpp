// SPDX-License-Identifier: Apache-2.0
// Written out, read back and compared with the copper it came from: no open, no bridge, no point
// without copper. Oracle: the copper itself, and the netlists that came with the real boards.
#include "isthmus/expect/netlist_of_copper.hpp"

#include <gtest/gtest.h>

#include <map>
#include <set>

#include "tests/expect/partition.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::expect {
namespace {

using test::contradictions;
using test::partition;

// The board again, with the netlist its own copper made.
Expectation read_back(Board& board) {
  Diagnostics notes;
  const std::string text = formats::write_ipc_d_356(netlist_of_copper(board));
  auto netlist = formats::read_ipc_d_356(text, "copper.d356", notes);
  EXPECT_TRUE(netlist.ok()) << format(netlist.problem());
  for (const Diagnostic& d : notes.list()) {
    EXPECT_EQ(d.what.code, "NET-025");  // a pad over 9.999 mm fills its field
  }
  board.design.netlist = std::move(netlist).value();
  board.design.board.netlist_source = formats::NetlistSource::file;
  auto e = expect_board(board.design, board.copper, board.gaps, notes);
  EXPECT_TRUE(e.ok()) << format(e.problem());
  return std::move(e).value();
}

std::unique_ptr<Board> demo(Stage stage) {
  Diagnostics notes;
  auto file = formats::read_board_file(test::source_dir() / "fixtures/tide-gauge/board.yaml");
  EXPECT_TRUE(file.ok());
  file->stage = stage;
  auto board = load_board(*file, notes);
  EXPECT_TRUE(board.ok()) << format(board.problem());
  return std::move(board).value();
}

class AtStage : public ::testing::TestWithParam<Stage> {};
TEST_P(AtStage, NetlistOfTheDemoBoardsCopperAgreesWithIt) {
  const auto board = demo(GetParam());
  const test::Partition before = partition(board->expectation);
  const Expectation after = read_back(*board);
  EXPECT_TRUE(after.disagreements.empty());
  EXPECT_EQ(partition(after).size(), before.size());
  EXPECT_EQ(after.points.size(), board->expectation.points.size());
}
INSTANTIATE_TEST_SUITE_P(Stages, AtStage,
                         ::testing::Values(Stage::etched_top, Stage::etched_bottom, Stage::etched,
                                           Stage::joined, Stage::finished));

// Also of what no record names: the netlist made of the copper names that, too.
test::Partition names_by_group(const Expectation& e) {
  test::Partition all;
  for (const Group& g : e.groups) {
    test::PointIds ids;
    for (const PointId p : g.points) ids.insert(e.point(p).id);
    all.insert(ids);
  }
  return all;
}

TEST(NetlistOfCopper, KeepsPointsAndNamesWhereCopperAndNetlistAgree) {
  const auto board = demo(Stage::joined);
  const Expectation after = read_back(*board);
  EXPECT_EQ(names_by_group(after), names_by_group(board->expectation));
  std::map<std::string, std::string> names;
  for (const Point& p : board->expectation.points) names[p.id] = p.net;
  for (const Point& p : after.points) EXPECT_EQ(names[p.id], p.net) << p.id;
}

TEST(NetlistOfCopper, MakesANameWhereTheNetlistsIsNotUnique) {
  // With every net called alike, no piece of copper may keep the name: pieces would become one net.
  const auto board = demo(Stage::joined);
  const std::size_t pieces = board->expectation.groups.size();
  for (Group& g : board->expectation.groups) g.net = "TIDE";
  std::set<std::string> names;
  for (const formats::NetlistRecord& r : netlist_of_copper(*board).records) names.insert(r.net);
  EXPECT_EQ(names.size(), pieces);
  EXPECT_FALSE(names.contains("TIDE"));
}

TEST(NetlistOfCopper, OfRealBoardsAgreesWithTheirCopper) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t tried = 0;
  struct Files {
    const char *folder, *top, *bottom;
  };
  for (const auto& [folder, top, bottom] :
       {Files{"encoder", "RotaryEncoderDebounced-F_Cu.gtl", "RotaryEncoderDebounced-B_Cu.gbl"},
        Files{"dmx", "top_copper.GTL", "bottom_copper.GBL"}}) {
    Diagnostics notes;
    formats::BoardFile file;
    file.path = boards / folder / "board.yaml";
    file.top = boards / folder / top;
    file.bottom = boards / folder / bottom;
    file.netlist_source = formats::NetlistSource::artwork;
    file.stage = Stage::etched;
    auto board = load_board(file, notes);
    ASSERT_TRUE(board.ok()) << format(board.problem());
    const std::size_t groups = (*board)->expectation.groups.size();
    const Expectation after = read_back(**board);
    EXPECT_EQ(contradictions(after), 0U) << folder;
    EXPECT_EQ(after.groups.size(), groups) << folder;
    ++tried;
  }
  EXPECT_EQ(tried, 2U);
}

}  // namespace
}  // namespace isthmus::expect
