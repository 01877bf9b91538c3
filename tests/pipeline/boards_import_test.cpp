// SPDX-License-Identifier: Apache-2.0
// Every real board, imported and inspected as it comes. What disagrees is kept here with its
// reason; each place was looked at in a picture painted from the layers' objects alone, without the
// program's own union. Nets: the table in the boards' README; records: the same, less tooling
// holes, inner layers and two outline records.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using test::Folder;
using test::Ran;

struct Explained {
  const char* kind;
  std::size_t count;
  const char* points;  // of one of them, as JSON
  const char* why;
};
struct Board {
  const char* name;
  std::size_t records, nets;  // of the netlist, those that ask something of copper; 0 without one
  std::vector<Explained> explained;
};
void PrintTo(const Board& b, std::ostream* out) { *out << b.name; }

const std::vector<Board> kBoards{
    {"ac-coupler", 27, 11, {}},
    {"debug-header",
     0,
     0,
     {{"breakout", 8, R"(["@0.000,-49.000@top"])",
       "four unplated mounting holes of 2.80 mm in pads of 2.75 mm, on both sides"}}},
    {"dmx",
     105,
     17,
     {{"bridge", 1, R"(["NA.69","U4.8"])",
       "the hand-edited netlist has two records for one pad, on two nets; the pad hangs on the VCC "
       "pour by its three spokes"}}},
    {"encoder", 58, 19, {}},
    {"fx-switcher", 205, 53, {}},
    {"gyro-panel",
     0,
     0,
     {{"marginal", 27, R"(["@3.226,57.607@bottom"])",
       "the pour is cut into regions whose edges meet exactly"}}},
    {"iot-bank",
     0,
     0,
     {{"breakout", 2, R"(["@61.185,33.680@top"])",
       "two locating holes of a connector, drilled through the edge of a track and of a pour"}}},
    {"many-pads",
     34,
     5,
     {{"open", 1, R"(["BOARD.P3","BOARD.P5@top"])",
       "an exporter's own test board, not routed: the bottom pad P3 stands in a clearance"},
      {"open", 1, R"(["D1.4@top","D2.2@top"])", "the track from D1.4 ends on D2.1"},
      {"open", 1,
       R"(["D1.8","D2.6","D2.7","VIA@12.000,42.000@top","VIA@16.000,42.000@top","VIA@20.000,42.000@top"])",
       "each of these stands alone in its clearance"}}},
    {"mcu-clone", 0, 0, {}},
    {"melody", 157, 41, {}},
    {"motion-light-4l",
     546,
     77,
     {{"open", 1, R"(["R13.1","SW1.2#2"])",
       "the second pad of SW1.2 stands in a clearance of the pour; no track leaves it"}}},
    {"numpres", 0, 0, {}},
    {"panel-mm",
     0,
     0,
     {{"breakout", 4, R"(["@12.863,13.500@bottom"])",
       "four mounting holes of 3.2 mm in pads of 3.2 mm"}}},
    {"prom-burner", 142, 48, {}},
    {"rfid-reader", 0, 0, {}},
    {"rom-programmer", 205, 47, {}},
    {"school", 0, 0, {}},
    {"stepper", 0, 0, {}},
    {"usb-fpga-4l-blind", 395, 31, {}},
};

// N/C records are nets of their own, and so is copper that no record names: the table does not count
// them.
std::set<std::string> nets_of(const json& inspected) {
  std::set<std::string> nets;
  for (const json& p : inspected["points"]) {
    const auto net = p["net"].get<std::string>();
    if (!net.empty() && net.rfind("N/C", 0) != 0 && net[0] != '#') nets.insert(net);
  }
  return nets;
}

class EveryBoard : public ::testing::TestWithParam<Board> {};

TEST_P(EveryBoard, IsImportedAndInspectedAndWhatDisagreesIsExplained) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const Board& board = GetParam();
  const Folder folder;
  const Ran imported =
      test::isthmus({"import", boards / board.name, "--out", folder / "board.yaml"});
  ASSERT_EQ(imported.code, 0) << imported.err;
  EXPECT_EQ(imported.err.find(": error "), std::string::npos) << imported.err;
  if (board.records > 0) {  // every one of them, without a netlist moved to a worse place
    const auto line = fmt::format("{0} of {0} points lie on copper", board.records);
    EXPECT_NE(imported.out.find(line), std::string::npos) << imported.out;
  }
  const Ran ran = test::isthmus({"inspect", folder / "board.yaml", "--json"});
  ASSERT_EQ(ran.code, board.explained.empty() ? 0 : 1) << ran.err;
  const json found = test::json_of(ran);
  EXPECT_GT(found["points"].size(), 0u);
  if (board.records > 0) {
    EXPECT_EQ(nets_of(found).size(), board.nets);
  }
  std::size_t expected = 0;
  for (const Explained& e : board.explained) {
    expected += e.count;
    const auto& all = found["disagreements"];
    const auto kind = [&](const json& d) { return d["kind"] == e.kind; };
    EXPECT_TRUE(std::any_of(all.begin(), all.end(), [&](const json& d) {
      return kind(d) && d["points"] == json::parse(e.points);
    })) << e.why;
    EXPECT_GE(std::count_if(all.begin(), all.end(), kind), static_cast<std::ptrdiff_t>(e.count));
  }
  EXPECT_EQ(found["disagreements"].size(), expected) << found["disagreements"].dump();
}

INSTANTIATE_TEST_SUITE_P(Boards, EveryBoard, ::testing::ValuesIn(kBoards),
                         [](const ::testing::TestParamInfo<Board>& tested) {
                           std::string name(tested.param.name);
                           std::erase(name, '-');
                           return name;
                         });

// Nothing is left out of the table above.
TEST(EveryBoard, IsInTheTable) {
  ISTHMUS_NEEDS_BOARDS(boards);
  for (const auto& entry : fs::directory_iterator(boards)) {
    const std::string name = entry.path().filename().string();
    if (!entry.is_directory() || name.rfind("lone", 0) == 0) continue;
    EXPECT_TRUE(std::ranges::any_of(kBoards, [&](const Board& b) { return b.name == name; }))
        << name;
  }
}

}  // namespace
}  // namespace isthmus
