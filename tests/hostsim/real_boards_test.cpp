// SPDX-License-Identifier: Apache-2.0
// Real boards with every plated hole conducting: the conductors must be the nets of their IPC-D-356
// files.
#include <gtest/gtest.h>

#include <map>
#include <set>
#include <string>

#include "hostsim/copper/holes.hpp"
#include "tests/hostsim/drawn.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::hostsim {
namespace {

namespace fs = std::filesystem;

using test::scenario;

struct BoardCase {
  const char* folder;
  const char* top;
  const char* bottom;
  const char* holes;
};

formats::Design load(const fs::path& folder, const BoardCase& c) {
  formats::BoardFile b;
  b.path = folder / "board.yaml";
  b.top = folder / c.top;
  b.bottom = folder / c.bottom;
  b.holes.push_back({folder / c.holes, true, std::nullopt});
  b.netlist_source = formats::NetlistSource::file;
  b.netlist = folder / "netlist.ipc";
  b.stage = Stage::joined;
  b.joins_mode = formats::JoinsMode::all;
  Diagnostics notes;
  auto design = formats::load_design(b, notes);
  EXPECT_TRUE(design) << format(design.problem());
  return std::move(design).value();
}

class RealBoards : public ::testing::TestWithParam<BoardCase> {};

TEST_P(RealBoards, HaveOneConductorForEachNet) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const formats::Design design = load(boards / GetParam().folder, GetParam());
  const CopperBoard board = make_copper_board(scenario(40), design).value();
  std::map<std::string, std::set<int>> conductors;
  std::map<int, std::set<std::string>> nets;
  for (const formats::NetlistRecord& r : design.netlist->records) {
    if (r.kind == formats::FeatureKind::tooling || r.net.empty() || r.net == "N/C") continue;
    const bool below = r.access >= design.netlist->bottom_access;
    const auto node = touched_node(board, below ? 1 : 0, r.at);
    ASSERT_TRUE(node) << r.net << " " << r.ref << "." << r.pin;
    const int conductor = board.graph.network.conductor_of(*node);
    conductors[r.net].insert(conductor);
    nets[conductor].insert(r.net);
  }
  EXPECT_GT(conductors.size(), 5u);
  for (const auto& [net, found] : conductors) EXPECT_EQ(found.size(), 1u) << net;
  for (const auto& [conductor, found] : nets) EXPECT_EQ(found.size(), 1u) << *found.begin();
}

INSTANTIATE_TEST_SUITE_P(
    Shared, RealBoards,
    ::testing::Values(BoardCase{"melody", "OndraMelodik-F_Cu.gbr", "OndraMelodik-B_Cu.gbr",
                                "OndraMelodik-PTH.drl"},
                      BoardCase{"encoder", "RotaryEncoderDebounced-F_Cu.gtl",
                                "RotaryEncoderDebounced-B_Cu.gbl",
                                "RotaryEncoderDebounced-PTH.drl"},
                      BoardCase{"rom-programmer", "rom-programmer-F_Cu.gtl",
                                "rom-programmer-B_Cu.gbl", "rom-programmer-PTH.drl"}));

}  // namespace
}  // namespace isthmus::hostsim
