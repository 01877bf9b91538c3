// SPDX-License-Identifier: Apache-2.0
// Netlist and drill files brought to the artwork. Oracles: the transform each case applies, and for
// the real boards that a netlist is of its own board and of no other; shifts as in their README.
#include "formats/registration/registration.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "isthmus/formats/recognise.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

bool remarked(const Diagnostics& notes, const std::string& code) {
  return std::ranges::any_of(notes.list(), [&](const auto& d) { return d.what.code == code; });
}

// Thirty irregular places (no shift or mirror of them fits itself), a pad with hole at each.
std::vector<Position> places() {
  std::vector<Position> out;
  for (int i = 0; i < 30; ++i) {
    out.push_back(position_mm((i * 37) % 101 + 0.13 * i, (i * i * 7) % 67 + 0.29 * i));
  }
  return out;
}

Design board(const std::vector<Position>& at) {
  Design d;
  d.copper.resize(2);
  d.board.holes = {{"h.drl", true, std::nullopt}};
  d.netlist.emplace();
  d.netlist->file = "n.d356";
  int pin = 0;
  for (const Position p : at) {
    for (LayerImage& layer : d.copper) {
      Object o;
      o.spine = {p};
      o.shape = {Polygon{{p + position_mm(-0.7, -0.7), p + position_mm(0.7, -0.7),
                          p + position_mm(0.7, 0.7), p + position_mm(-0.7, 0.7)},
                         {}}};
      layer.objects.push_back(o);
    }
    Hole h;
    h.from = h.to = p;
    h.diameter = 800_um;
    h.plated = true;
    d.holes.push_back(h);
    NetlistRecord r;
    r.kind = FeatureKind::through_hole;
    r.net = "N" + std::to_string(pin / 3);
    r.ref = "J1";
    r.pin = std::to_string(++pin);
    r.at = p;
    r.hole = 800_um;
    d.netlist->records.push_back(r);
  }
  return d;
}

struct Form {
  const char* name;
  Frame frame;
};
class Registration : public ::testing::TestWithParam<Form> {};

TEST_P(Registration, BringsTheNetlistBack) {
  Design d = board(places());
  for (NetlistRecord& r : d.netlist->records) r.at = GetParam().frame.apply(r.at);
  Diagnostics notes;
  const auto done = register_netlist(d, notes);
  ASSERT_TRUE(done.ok()) << format(done.problem());
  EXPECT_TRUE(remarked(notes, "DSN-015"));
  const auto at = places();
  for (std::size_t i = 0; i < at.size(); ++i) {
    EXPECT_LT(distance_nm(d.netlist->records[i].at, at[i]), 100) << i;
  }
}

TEST_P(Registration, BringsTheHolesBack) {
  Design d = board(places());
  for (Hole& h : d.holes) h.from = h.to = GetParam().frame.apply(h.from);
  Diagnostics notes;
  const auto done = register_holes(d, notes);
  ASSERT_TRUE(done.ok()) << format(done.problem());
  EXPECT_TRUE(remarked(notes, "DSN-018"));
  const auto at = places();
  for (std::size_t i = 0; i < at.size(); ++i) {
    EXPECT_LT(distance_nm(d.holes[i].from, at[i]), 100) << i;
  }
}

INSTANTIATE_TEST_SUITE_P(
    Frames, Registration,
    ::testing::Values(Form{"Shifted", {{3'210'000, -4'560'000}, false, false, 1.0}},
                      Form{"MirroredInX", {{100'000'000, 0}, true, false, 1.0}},
                      Form{"MirroredInY", {{0, 70'000'000}, false, true, 1.0}},
                      Form{"Turned", {{9'000'000, 8'000'000}, true, true, 1.0}},
                      Form{"TenTimesTooSmall", {{0, 0}, false, false, 0.1}},
                      Form{"MillimetresTakenForInches", {{0, 0}, false, false, 2.54}},
                      Form{"MirroredAndScaled", {{5'000'000, 1'000'000}, true, false, 0.1}}),
    [](const ::testing::TestParamInfo<Form>& form) { return std::string(form.param.name); });

TEST(Registration, LeavesWhatFitsAlone) {
  Design d = board(places());
  Diagnostics notes;
  ASSERT_TRUE(register_holes(d, notes).ok());
  ASSERT_TRUE(register_netlist(d, notes).ok());
  EXPECT_FALSE(d.netlist->moved.has_value());
  EXPECT_TRUE(notes.list().empty());
}

TEST(Registration, RefusesARowThatFitsBothWays) {
  std::vector<Position> row;
  for (int i = 0; i < 12; ++i) row.push_back(position_mm(2.54 * i, 0));
  Design d = board(row);
  for (NetlistRecord& r : d.netlist->records) r.at = r.at + position_mm(50, 1);
  Diagnostics notes;
  const auto done = register_netlist(d, notes);
  ASSERT_FALSE(done.ok());
  EXPECT_EQ(done.problem().code, "DSN-017");
  EXPECT_FALSE(d.netlist->moved.has_value());
}

// Two rows lie on themselves turned or mirrored. The artwork's own names tell which way is right,
// whatever the netlist calls them.
TEST(Registration, NetsDecideBetweenFourWays) {
  std::vector<Position> rows;
  for (int i = 0; i < 12; ++i) rows.push_back(position_mm(2.54 * (i % 6), i < 6 ? 0 : 7.62));
  Design d = board(rows);
  const std::array<int, 12> net{0, 0, 0, 1, 1, 1, 2, 2, 0, 2, 1, 0};
  for (LayerImage& layer : d.copper) {
    layer.attributes.clear();
    for (std::size_t i = 0; i < rows.size(); ++i) {
      Attributes a;
      a.nets = {{"/sheet/long_name_" + std::to_string(net[i])}};
      layer.attributes.push_back(a);
      layer.objects[i].attributes = static_cast<std::uint32_t>(i);
    }
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    d.netlist->records[i].net = "NAME_" + std::to_string(net[i]) + "{7}";
    d.netlist->records[i].at = rows[i] + position_mm(50, 1);
  }
  Diagnostics notes;
  Design unnamed = d;
  for (LayerImage& layer : unnamed.copper) layer.attributes.assign(rows.size(), Attributes{});
  EXPECT_EQ(register_netlist(unnamed, notes).problem().code, "DSN-017");
  const auto done = register_netlist(d, notes);
  ASSERT_TRUE(done.ok()) << format(done.problem());
  EXPECT_EQ(d.netlist->moved, (Frame{position_mm(-50, -1), false, false, 1.0}));
}

// Every point of the moved netlist has its place; the artwork says that they are other nets.
TEST(Registration, NetsRefuseAFitByPlace) {
  Design d = board(places());
  for (LayerImage& layer : d.copper) {
    layer.attributes.clear();
    for (std::size_t i = 0; i < layer.objects.size(); ++i) {
      Attributes a;
      a.nets = {{"M" + std::to_string(i % 10)}};  // the netlist's nets are of three neighbours
      layer.attributes.push_back(a);
      layer.objects[i].attributes = static_cast<std::uint32_t>(i);
    }
  }
  for (NetlistRecord& r : d.netlist->records) r.at = r.at + position_mm(50, 1);
  Diagnostics notes;
  const auto done = register_netlist(d, notes);
  ASSERT_FALSE(done.ok());
  EXPECT_EQ(done.problem().code, "DSN-016");
  EXPECT_NE(done.problem().message.find("nets contradict"), std::string::npos);
}

TEST(Registration, RefusesTheNetlistOfAnotherBoard) {
  Design d = board(places());
  for (std::size_t i = 0; i < d.netlist->records.size(); ++i) {
    const int n = static_cast<int>(i);
    d.netlist->records[i].at = position_mm((n * 53) % 97 + 0.31 * n, (n * n * 11) % 61);
  }
  Diagnostics notes;
  const auto done = register_netlist(d, notes);
  ASSERT_FALSE(done.ok());
  EXPECT_EQ(done.problem().code, "DSN-016");
}

TEST(Registration, RefusesTheDrillFileOfAnotherBoard) {
  Design d = board(places());
  for (std::size_t i = 0; i < d.holes.size(); ++i) {
    const int n = static_cast<int>(i);
    d.holes[i].from = d.holes[i].to = position_mm((n * 53) % 97 + 0.31 * n, (n * n * 11) % 61);
  }
  Diagnostics notes;
  const auto done = register_holes(d, notes);
  ASSERT_FALSE(done.ok());
  EXPECT_EQ(done.problem().code, "DSN-019");
}

TEST(Registration, ReportsRecordsThatContradictEachOther) {
  Design d = board(places());
  d.netlist->records.push_back(d.netlist->records[4]);
  d.netlist->records.back().net = "OTHER";
  Diagnostics notes;
  ASSERT_TRUE(register_netlist(d, notes).ok());
  EXPECT_TRUE(remarked(notes, "DSN-020"));
}

constexpr std::array<const char*, 10> kWithNetlist{
    "rom-programmer", "motion-light-4l", "ac-coupler",        "prom-burner", "fx-switcher",
    "melody",         "encoder",         "usb-fpga-4l-blind", "many-pads",   "dmx"};

Result<BoardFile> imported(const std::filesystem::path& folder) {
  const test::TempDir work;
  Diagnostics notes;
  auto files = recognise({folder}, work.path(), notes);
  if (!files) return files.problem();
  return assemble_board(*files, folder.filename().string(), notes);
}

class OwnNetlist : public ::testing::TestWithParam<const char*> {};

TEST_P(OwnNetlist, IsTakenAndEveryOtherBoardsIsRefused) {
  ISTHMUS_NEEDS_BOARDS(boards);
  auto board = imported(boards / GetParam());
  ASSERT_TRUE(board.ok()) << format(board.problem());
  Diagnostics notes;
  auto design = load_design(*board, notes);
  ASSERT_TRUE(design.ok()) << format(design.problem());
  // The README: one record of this board contradicts another.
  EXPECT_EQ(remarked(notes, "DSN-020"), std::string(GetParam()) == "dmx");
  for (const char* other : kWithNetlist) {
    if (std::string(other) == GetParam()) continue;
    const auto stranger = imported(boards / other);
    ASSERT_TRUE(stranger.ok());
    const auto bytes = read_whole_file(stranger->netlist);
    ASSERT_TRUE(bytes.ok());
    Diagnostics ignored;
    auto netlist = read_ipc_d_356(*bytes, other, ignored);
    ASSERT_TRUE(netlist.ok());
    Design mixed = *design;
    mixed.netlist = std::move(*netlist);
    const auto done = register_netlist(mixed, ignored);
    ASSERT_FALSE(done.ok()) << other;
    EXPECT_EQ(done.problem().code, "DSN-016") << format(done.problem());
  }
}

INSTANTIATE_TEST_SUITE_P(Boards, OwnNetlist, ::testing::ValuesIn(kWithNetlist),
                         [](const ::testing::TestParamInfo<const char*>& board) {
                           std::string name(board.param);
                           std::erase(name, '-');
                           return name;
                         });

}  // namespace
}  // namespace isthmus::formats
