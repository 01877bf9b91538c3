// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/board_file.hpp"

#include <gtest/gtest.h>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/whereabouts.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

constexpr const char* kWhole = R"(isthmus: 1
name: tide-gauge
artwork: {top: top.gbr, bottom: bottom.gbr, outline: edge.gbr, inner: [l2.gbr, l3.gbr]}
mask: {top: top-mask.gbr, bottom: bottom-mask.gbr}
holes: [{file: holes.drl, plated: true}, {file: blind.drl, span: [1, 2]}, loose.drl]
netlist: tide-gauge.d356
net-ties: [[GND, AGND]]
stage: joined
joins: [[1, 2], {at: [3.5, -4], kind: rivet, deferred: true}]
links: [{from: [1, 2], to: [3, 4], side: bottom}]
waive: [{point: TP3, why: "under the label"}, {join: [1, 2], why: wire}, {copper: [3.5, -4], side: L3, why: text}, {copper: [0, 1], side: bottom, why: pour}, {pair: [SDA, "+3V3"], why: coated}]
placed: {top: [[0, 0, 0.1, 0], [50, 0, 50.1, 0.2]]}
copper: {thickness: 18 um, temperature: 25 degC}
process: {gap: 0.15 mm, track: 0.16 mm, undercut: 10 um, registration: 0.3 mm, drill-wander: 0.2 mm}
limits: {continuity: 5 ohm, isolation: 20 Mohm, bridge: 200 kohm, excess: 2 ohm, voltage: 5 V, window: 2 mm}
)";
const std::string kSmall =
    "isthmus: 1\nname: b\nartwork: {top: t.gbr}\nnetlist: artwork\nstage: etched-top\n";

Result<BoardFile> read(const std::string& text, const std::vector<YamlOverride>& overrides = {}) {
  const TempDir dir;
  return read_board_file(dir.write("board.yaml", text), overrides);
}

TEST(BoardFile, ReadsEveryKey) {
  const TempDir dir;
  const Result<BoardFile> r = read_board_file(dir.write("board.yaml", kWhole));
  ASSERT_TRUE(r.ok()) << format(r.problem());
  const BoardFile& b = *r;
  EXPECT_EQ(b.name, "tide-gauge");
  EXPECT_EQ(*b.top, dir.path() / "top.gbr");
  EXPECT_EQ(b.inner.size(), 2u);
  EXPECT_EQ(*b.mask_bottom, dir.path() / "bottom-mask.gbr");
  ASSERT_EQ(b.holes.size(), 3u);
  EXPECT_EQ(b.holes[0].plated, true);
  EXPECT_EQ(b.holes[1].span, (std::pair{1, 2}));
  EXPECT_EQ(b.holes[2].file, dir.path() / "loose.drl");
  EXPECT_EQ(b.netlist, dir.path() / "tide-gauge.d356");
  EXPECT_EQ(b.net_ties, (std::vector<std::vector<std::string>>{{"GND", "AGND"}}));
  EXPECT_EQ(b.stage, Stage::joined);
}

TEST(BoardFile, ReadsJoinsLinksWaiversAndMarks) {
  const Result<BoardFile> b = read(kWhole);
  ASSERT_TRUE(b.ok());
  ASSERT_EQ(b->joins.size(), 2u);
  EXPECT_EQ(b->joins[0].kind, JoinKind::wire);
  EXPECT_EQ(b->joins[1].at, position_mm(3.5, -4));
  EXPECT_EQ(b->joins[1].kind, JoinKind::rivet);
  EXPECT_TRUE(b->joins[1].deferred);
  EXPECT_EQ(b->links[0].side, Side::bottom);
  EXPECT_EQ(b->waive[0].why, "under the label");
  EXPECT_EQ(b->waive[0].kind, WaiveKind::point);
  EXPECT_EQ(b->placed_top[1][1], position_mm(50.1, 0.2));
}

TEST(BoardFile, ReadsWaiversOfEntries) {
  const Result<BoardFile> b = read(kWhole);
  ASSERT_TRUE(b.ok());
  ASSERT_EQ(b->waive.size(), 5u);
  EXPECT_EQ(b->waive[1].kind, WaiveKind::join);
  EXPECT_EQ(b->waive[1].at, position_mm(1, 2));
  EXPECT_EQ(b->waive[2].kind, WaiveKind::copper);
  EXPECT_EQ(b->waive[2].at, position_mm(3.5, -4));
  EXPECT_EQ(std::pair(b->waive[2].side, b->waive[2].layer), std::pair(Side::both, 3));
  EXPECT_EQ(std::pair(b->waive[3].side, b->waive[3].layer), std::pair(Side::bottom, 0));
  EXPECT_EQ(b->waive[4].kind, WaiveKind::pair);
  EXPECT_EQ(b->waive[4].nets, (std::array<std::string, 2>{"SDA", "+3V3"}));
  EXPECT_EQ(b->waive[4].why, "coated");
  EXPECT_EQ(std::pair(b->waive[1].line, b->waive[1].column), std::pair(11, 47));
}

TEST(BoardFile, AWaiverOfTheCommandLineHasNoPlace) {
  const Result<BoardFile> b = read(kSmall, {{"waive", "[{pair: [A, B], why: x}]"}});
  ASSERT_TRUE(b.ok());
  EXPECT_EQ(b->waive.at(0).line, 0);
}

TEST(BoardFile, SaysWhatAWaiverMayLeaveOut) {
  const TempDir dir;
  const auto file =
      dir.write("board.yaml", kSmall + "waive: [{copper: [1, 2], side: L2, why: x}]\n");
  EXPECT_EQ(format(read_board_file(file).problem()),
            file.string() +
                ":6:32: error YML-010: 'L2' is no side or layer of this board\n"
                "  waive: [{copper: [1, 2], side: L2, why: x}]\n"
                "                                 ^\n"
                "  hint: one of: top, bottom");
}

TEST(BoardFile, ReadsQuantities) {
  const Result<BoardFile> b = read(kWhole);
  ASSERT_TRUE(b.ok());
  EXPECT_EQ(b->copper.thickness, 18_um);
  EXPECT_EQ(b->process.drill_wander, 200_um);
  EXPECT_EQ(b->limits.isolation, Ohms{20e6});
  EXPECT_EQ(b->limits.voltage, Volts{5});
  EXPECT_EQ(b->limits.window, 2_mm);
}

TEST(BoardFile, ComesBackFromItsOwnText) {
  const TempDir dir;
  Result<BoardFile> first = read_board_file(dir.write("board.yaml", kWhole));
  ASSERT_TRUE(first.ok());
  first->net_ties.push_back({"+3V3", "a \"b\"\\#1", "0x10", "null"});
  const std::string text = write_board_file(*first);
  const Result<BoardFile> second = read_board_file(dir.write("board.yaml", text));
  ASSERT_TRUE(second.ok()) << format(second.problem());
  EXPECT_EQ(write_board_file(*second), text);
  EXPECT_EQ(second->net_ties, first->net_ties);
  EXPECT_EQ(second->holes[1].span, first->holes[1].span);
  ASSERT_EQ(second->waive.size(), 5u);
  EXPECT_EQ(second->waive[2].at, first->waive[2].at);
  EXPECT_EQ(second->waive[2].layer, 3);
  EXPECT_EQ(second->waive[4].nets, first->waive[4].nets);
  EXPECT_EQ(*second->top, *first->top);
}

TEST(BoardFile, AFileNamedAbsolutelyIsWrittenSoUnlessItLiesBelowTheDescription) {
  BoardFile b;
  b.path = "/home/me/gauge/board.yaml";
  b.top = "/media/stick/top.gbr";
  b.bottom = "/home/me/gauge/etch/bottom.gbr";
  const std::string text = write_board_file(b);
  EXPECT_NE(text.find("{top: \"/media/stick/top.gbr\", bottom: etch/bottom.gbr}"),
            std::string::npos)
      << text;
}

TEST(BoardFile, AFileNamedRelativelyIsWrittenSo) {
  BoardFile b;
  b.path = "gauge/board.yaml";
  b.top = "other/top.gbr";
  EXPECT_NE(write_board_file(b).find("{top: ../other/top.gbr}"), std::string::npos);
}

TEST(BoardFile, ATighterExcessIsWrittenWithAWordWhy) {
  BoardFile b;
  EXPECT_EQ(write_board_file(b).find("# excess"), std::string::npos);
  b.limits.excess = Ohms{0.2};
  EXPECT_NE(write_board_file(b).find("# excess: finds necks"), std::string::npos);
}

TEST(BoardFile, NamedLikeAKeywordStaysAFile) {
  const TempDir dir;
  Result<BoardFile> b = read_board_file(dir.write("board.yaml", kSmall));
  ASSERT_TRUE(b.ok());
  b->netlist_source = NetlistSource::file;
  b->netlist = dir.path() / "artwork";
  const Result<BoardFile> back = read_board_file(dir.write("board.yaml", write_board_file(*b)));
  EXPECT_EQ(back->netlist_source, NetlistSource::file);
  EXPECT_EQ(back->netlist, b->netlist);
}

TEST(Whereabouts, OfAFileAndOfAListedJoinAreLineAndColumn) {
  const TempDir dir;
  const auto board = dir.write("board.yaml",
                               "isthmus: 1\nartwork: {top: etch/top.gbr}\njoins:\n  - [1, 2]\n  - "
                               "{at: [3.5, 4], kind: wire}\n");
  const auto file = where_file_is_named(board, dir.path() / "etch/top.gbr");
  ASSERT_TRUE(file);
  EXPECT_EQ(std::pair(file->line, file->column), std::pair(2, 16));
  const auto join = where_join_is_listed(board, position_mm(3.5, 4));
  ASSERT_TRUE(join);
  EXPECT_EQ(std::pair(join->line, join->column), std::pair(5, 5));
  EXPECT_FALSE(where_join_is_listed(board, position_mm(3.5, 4.1)));
  EXPECT_FALSE(where_file_is_named(board, dir.path() / "top.gbr"));
  EXPECT_FALSE(where_file_is_named(dir.path() / "none.yaml", "top.gbr"));
}

TEST(BoardFile, TakesOverridesWithPathsFromTheWorkingDirectory) {
  const Result<BoardFile> b = read(
      kSmall, {{"stage", "etched"}, {"limits.isolation", "5 Mohm"}, {"netlist", "other/x.d356"}});
  ASSERT_TRUE(b.ok()) << format(b.problem());
  EXPECT_EQ(b->stage, Stage::etched);
  EXPECT_EQ(b->limits.isolation, Ohms{5e6});
  EXPECT_EQ(b->netlist, "other/x.d356");
  const Result<BoardFile> bad = read(kSmall, {{"stage", "soldered"}});
  EXPECT_EQ(bad.problem().file, "--stage");
  EXPECT_EQ(bad.problem().code, "YML-010");
}

TEST(BoardFile, SaysWhereAndWhatIsMeant) {
  const TempDir dir;
  const auto file = dir.write("board.yaml", kSmall + "limits: {isolaton: 10 Mohm}\n");
  EXPECT_EQ(format(read_board_file(file).problem()),
            file.string() +
                ":6:10: error YML-002: unknown key 'isolaton'\n"
                "  limits: {isolaton: 10 Mohm}\n"
                "           ^\n"
                "  hint: did you mean 'isolation'?");
}

struct Bad {
  const char* name;
  std::string text;
  const char* code;
  int line;
};
void PrintTo(const Bad& b, std::ostream* out) { *out << b.name; }
std::string replaced(std::string text, const std::string& what, const std::string& by) {
  return text.replace(text.find(what), what.size(), by);
}
class BadBoard : public testing::TestWithParam<Bad> {};
TEST_P(BadBoard, IsRefusedAtItsPlace) {
  const Result<BoardFile> r = read(GetParam().text);
  ASSERT_FALSE(r.ok());
  EXPECT_EQ(r.problem().code, GetParam().code) << format(r.problem());
  EXPECT_EQ(r.problem().line, GetParam().line) << format(r.problem());
}
INSTANTIATE_TEST_SUITE_P(
    All, BadBoard,
    testing::Values(
        Bad{"NotYaml", "isthmus: 1\nname: [a\n", "YML-001", 3}, Bad{"Empty", "", "YML-004", 1},
        Bad{"Scalar", "hello\n", "YML-004", 1}, Bad{"Twice", kSmall + "name: c\n", "YML-009", 6},
        Bad{"OtherVersion", replaced(kSmall, "isthmus: 1", "isthmus: 2"), "YML-008", 1},
        Bad{"NoStage", replaced(kSmall, "stage: etched-top\n", ""), "YML-003", 1},
        Bad{"OddStage", replaced(kSmall, "etched-top", "tinned"), "YML-010", 5},
        Bad{"NoNetlist", replaced(kSmall, "netlist: artwork\n", ""), "YML-003", 1},
        Bad{"NoArtwork", replaced(kSmall, "artwork: {top: t.gbr}\n", ""), "YML-003", 1},
        Bad{"NoJoins", replaced(kSmall, "etched-top", "joined"), "YML-013", 1},
        Bad{"JoinsWord", kSmall + "joins: some\n", "YML-010", 6},
        Bad{"JoinsFlat", kSmall + "joins: [1, 2]\n", "YML-004", 6},
        Bad{"NoSuchSide", replaced(kSmall, "etched-top", "etched-bottom"), "YML-011", 3},
        Bad{"NoSide", replaced(kSmall, "top: t.gbr", "outline: o"), "YML-011", 3},
        Bad{"NoUnit", kSmall + "limits: {window: 3}\n", "YML-005", 6},
        Bad{"WrongUnit", kSmall + "copper: {thickness: 35 ohm}\n", "YML-006", 6},
        Bad{"MilliForMega", kSmall + "limits: {isolation: 10 mohm}\n", "YML-012", 6},
        Bad{"Negative", kSmall + "process: {gap: -1 mm}\n", "YML-012", 6},
        Bad{"WaiverWithoutReason", kSmall + "waive: [{point: TP1}]\n", "YML-003", 6},
        Bad{"WaiverOfNothing", kSmall + "waive:\n  - {why: x}\n", "YML-003", 7},
        Bad{"WaiverOfTwo", kSmall + "waive:\n  - {point: A,\n     pair: [A, B], why: x}\n",
            "YML-020", 8},
        Bad{"WaiverOfTwice", kSmall + "waive: [{point: A, point: B, why: x}]\n", "YML-009", 6},
        Bad{"WaivedJoinByName", kSmall + "waive: [{join: J1, why: x}]\n", "YML-004", 6},
        Bad{"WaivedJoinOfASide", kSmall + "waive: [{join: [1, 2], side: top, why: x}]\n", "YML-002",
            6},
        Bad{"WaivedJoinFarAway", kSmall + "waive: [{join: [1, 2e9], why: x}]\n", "YML-012", 6},
        Bad{"WaivedCopperWithoutSide", kSmall + "waive: [{copper: [1, 2], why: x}]\n", "YML-003",
            6},
        Bad{"WaivedCopperOfBothSides", kSmall + "waive: [{copper: [1, 2], side: both, why: x}]\n",
            "YML-010", 6},
        Bad{"WaivedCopperOfLayerOne",
            replaced(kSmall, "top: t.gbr", "top: t, bottom: b, inner: [i]") +
                "waive: [{copper: [1, 2], side: L1, why: x}]\n",
            "YML-010", 6},
        Bad{"WaivedCopperTooDeep",
            replaced(kSmall, "top: t.gbr", "top: t, bottom: b, inner: [i]") +
                "waive: [{copper: [1, 2], side: L3, why: x}]\n",
            "YML-010", 6},
        Bad{"WaivedPairOfOne", kSmall + "waive: [{pair: [A], why: x}]\n", "YML-004", 6},
        Bad{"WaivedPairOfThree", kSmall + "waive: [{pair: [A, B, C], why: x}]\n", "YML-004", 6},
        Bad{"WaivedPairFlat", kSmall + "waive: [{pair: A, why: x}]\n", "YML-004", 6},
        Bad{"WaivedPairTwice", kSmall + "waive: [{pair: [A, A], why: x}]\n", "YML-012", 6},
        Bad{"WaivedPairOfLists", kSmall + "waive: [{pair: [[A], B], why: x}]\n", "YML-004", 6},
        Bad{"WaivedPairWithoutReason", kSmall + "waive: [{pair: [A, B]}]\n", "YML-003", 6},
        Bad{"SpanUpsideDown", kSmall + "holes: [{file: a, span: [2, 1]}]\n", "YML-012", 6},
        Bad{"SpanTooDeep", kSmall + "holes: [{file: a, span: [1, 3]}]\n", "YML-012", 6},
        Bad{"PlaceOfThree", kSmall + "joins: [[1, 2, 3]]\n", "YML-004", 6},
        Bad{"PlaceFarAway", kSmall + "joins: [[1, 2000]]\n", "YML-012", 6},
        Bad{"PlaceNotNumber", kSmall + "joins: [[1, .nan]]\n", "YML-007", 6},
        Bad{"NotTruth", kSmall + "holes: [{file: a, plated: yes}]\n", "YML-010", 6},
        Bad{"TieOfOne", kSmall + "net-ties: [[GND]]\n", "YML-012", 6},
        Bad{"Deep", kSmall + "joins: " + std::string(40, '[') + std::string(40, ']') + "\n",
            "YML-014", 6}),
    [](const testing::TestParamInfo<Bad>& i) { return std::string(i.param.name); });

// Each line of the ladder doubles the one before: 2^30 values from a small file.
TEST(BoardFile, DoesNotExpandALadderOfAliases) {
  std::string text = "isthmus: 1\nname: &a0 [x, x]\n";
  for (int i = 1; i < 30; ++i) {
    const std::string before = std::to_string(i - 1);
    text += "k" + std::to_string(i) + ": &a" + std::to_string(i) + " [*a" + before + ", *a" +
            before + "]\n";
  }
  EXPECT_EQ(read(text).problem().code, "YML-014");
}

TEST(BoardFile, ThatIsMissingIsNamed) {
  EXPECT_EQ(read_board_file("nowhere.yaml").problem().code, "DSN-001");
}

}  // namespace
}  // namespace isthmus::formats
