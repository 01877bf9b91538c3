// SPDX-License-Identifier: Apache-2.0
// Real two-sided boards. Oracles: the netlists and the X2 attributes that came with the artwork,
// written by the CAD program from its own data; the shifts of two netlists as stated in the boards'
// README.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "isthmus/expect/board.hpp"
#include "tests/expect/little_board.hpp"
#include "tests/support/board_file.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::test {
namespace {

namespace fs = std::filesystem;
using Texts = std::vector<std::string>;

class RealBoard : public ::testing::TestWithParam<const char*> {};

TEST_P(RealBoard, AgreesWithItsNetlistAtEveryStage) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Diagnostics notes;
  const auto board = expect::load_board(board_file(boards, GetParam()), notes);
  ASSERT_TRUE(board.ok()) << format(board.problem());
  EXPECT_EQ(disagreements_text((*board)->expectation), Texts{});
  for (const Stage stage : {Stage::etched, Stage::etched_top, Stage::etched_bottom}) {
    (*board)->design.board.stage = stage;
    const auto e = expect::expect_board((*board)->design, (*board)->copper, (*board)->gaps, notes);
    ASSERT_TRUE(e.ok()) << name(stage) << format(e.problem());
    EXPECT_EQ(disagreements_text(*e), Texts{}) << name(stage);
  }
}

TEST_P(RealBoard, NetlistAndX2GiveTheSameGroupsAndPairs) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Diagnostics notes;
  const auto board = expect::load_board(board_file(boards, GetParam()), notes);
  ASSERT_TRUE(board.ok()) << format(board.problem());
  const auto& by_netlist = (*board)->expectation;
  formats::Design design = (*board)->design;
  design.board.netlist_source = formats::NetlistSource::gerber_x2;
  const auto by_x2 =
      expect::expect_board(design, (*board)->copper, (*board)->gaps, notes, &(*board)->conductors);
  ASSERT_TRUE(by_x2.ok()) << format(by_x2.problem());
  EXPECT_EQ(by_x2->points.size(), by_netlist.points.size());
  EXPECT_EQ(by_x2->groups.size(), by_netlist.groups.size());
  EXPECT_EQ(by_x2->pairs.size(), by_netlist.pairs.size());
  EXPECT_EQ(disagreements_text(*by_x2), Texts{});
}

INSTANTIATE_TEST_SUITE_P(Boards, RealBoard,
                         ::testing::Values("ac-coupler", "encoder", "melody", "rom-programmer",
                                           "prom-burner", "fx-switcher"),
                         [](const ::testing::TestParamInfo<const char*>& board) {
                           std::string name(board.param);
                           std::erase(name, '-');
                           return name;
                         });

TEST(RealBoards, SecondPadOfASwitchWasNeverRouted) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Diagnostics notes;
  const auto board = expect::load_board(board_file(boards, "motion-light-4l"), notes);
  ASSERT_TRUE(board.ok()) << format(board.problem());
  // The second pad of SW1.2 has no track in the artwork: its own X2 data say the same.
  EXPECT_EQ(disagreements_text((*board)->expectation),
            (Texts{"open NET-(R13-PAD1): R13.1 SW1.2#2 bottom"}));
}

TEST(RealBoards, NetlistsOfAnotherOriginAreBroughtToTheArtwork) {
  ISTHMUS_NEEDS_BOARDS(boards);
  for (const auto& [name, shift] :
       {std::pair("usb-fpga-4l-blind", Position{17'025'000, -26'550'000}),
        std::pair("dmx", Position{762'000, 7'783'000})}) {
    Diagnostics notes;
    const auto board = expect::load_board(board_file(boards, name), notes);
    ASSERT_TRUE(board.ok()) << format(board.problem());
    const auto& moved = (*board)->design.netlist->moved;
    ASSERT_TRUE(moved.has_value());
    // The README states three decimals; the records count 2.54 um.
    EXPECT_NEAR(to_mm(moved->shift.x), to_mm(shift.x), 0.004) << name;
    EXPECT_NEAR(to_mm(moved->shift.y), to_mm(shift.y), 0.004) << name;
  }
}

TEST(RealBoards, TwoConnectorsOnOneSetOfHolesAreOneSetOfPoints) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Diagnostics notes;
  const auto board = expect::load_board(board_file(boards, "melody"), notes);
  ASSERT_TRUE(board.ok()) << format(board.problem());
  std::size_t shared = 0;
  for (const auto& p : (*board)->expectation.points) {
    if (!p.aliases.empty()) ++shared;
  }
  EXPECT_EQ(shared, 20u);  // the README counts 20 common places of K1 and K2
}

struct Loaded {
  formats::Design design;
  Diagnostics notes;
  Texts disagreements() {
    auto copper = copper::extract_copper(design);
    if (!copper) return {format(copper.problem())};
    const auto gaps = copper::find_gaps(*copper, design.board.limits.window);
    auto e = expect::expect_board(design, *copper, gaps, notes);
    return e ? disagreements_text(*e) : Texts{format(e.problem())};
  }
};

TEST(RealBoards, RenamedNetShows) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Loaded loaded;
  auto design = formats::load_design(board_file(boards, "ac-coupler"), loaded.notes);
  ASSERT_TRUE(design.ok());
  loaded.design = std::move(design).value();
  auto& records = loaded.design.netlist->records;
  for (std::size_t i = 0; i < records.size(); ++i) {
    auto changed = loaded;
    auto& net = changed.design.netlist->records[i].net;
    const auto same =
        std::count_if(records.begin(), records.end(), [&](const auto& r) { return r.net == net; });
    net = "RENAMED";
    const bool lone = same == 1;  // a net of one point may have any name
    EXPECT_EQ(changed.disagreements().empty(), lone) << records[i].ref << "." << records[i].pin;
  }
}

TEST(RealBoards, NetWithoutItsTracksShows) {
  ISTHMUS_NEEDS_BOARDS(boards);
  Loaded loaded;
  auto design = formats::load_design(board_file(boards, "encoder"), loaded.notes);
  ASSERT_TRUE(design.ok());
  loaded.design = std::move(design).value();
  std::set<std::string> nets;  // of tracks, by their own X2 names
  for (const auto& image : loaded.design.copper) {
    for (const auto& o : image.objects) {
      const auto& names = image.attributes[o.attributes].nets;
      if (o.kind == formats::ObjectKind::stroke && names && names->size() == 1)
        nets.insert(names->front());
    }
  }
  ASSERT_GT(nets.size(), 5u);
  std::size_t shown = 0;
  for (const std::string& net : nets) {
    auto cut = loaded;
    for (auto& image : cut.design.copper) {
      std::erase_if(image.objects, [&](const formats::Object& o) {
        const auto& names = image.attributes[o.attributes].nets;
        return o.kind != formats::ObjectKind::flash && names && *names == std::vector{net};
      });
    }
    const Texts found = cut.disagreements();
    shown += found.size() == 1 && holds(found[0], "open ");
  }
  EXPECT_EQ(shown, nets.size());
}

}  // namespace
}  // namespace isthmus::test
