// SPDX-License-Identifier: Apache-2.0
// What falls short of a process, on boards of which it is plain to see; the real boards only that
// nothing drawn as wide as the process asks is named.
#include "isthmus/expect/capability.hpp"

#include <gtest/gtest.h>

#include "isthmus/formats/board_file.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::expect {
namespace {

const char* const kHead =
    "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,1.6*%\n%ADD11C,0.3*%\n%ADD12C,0.15*%\nG01*\n";

// Two nets of two pads each, 10 mm long: A straight at y = 0, B at y = 2 with a detour. Holes of
// 0.8 mm in all pads.
class Capability : public ::testing::Test {
 protected:
  std::unique_ptr<Board> board(const std::string& tracks, const std::string& process = "",
                               double hole_x = 0) {
    write("top.gbr", kHead +
                         std::string("D10*\nX0Y0D03*\nX10000000Y0D03*\nX0Y3000000D03*\n"
                                     "X10000000Y3000000D03*\n") +
                         tracks + "M02*\n");
    char hole[40];
    std::snprintf(hole, sizeof hole, "X%.3fY0.0\n", hole_x);
    write("h.drl", "M48\nMETRIC\nT1C0.800\n%\nT1\n" + std::string(hole) +
                       "X10.0Y0.0\nX0.0Y3.0\nX10.0Y3.0\nM30\n");
    write("n.d356", "P  UNITS CUST 1\n" + record("A", "P", 1, 0, 0) +
                        record("A", "P", 2, 10000, 0) + record("B", "Q", 1, 0, 3000) +
                        record("B", "Q", 2, 10000, 3000) + "999\n");
    write("board.yaml",
          "isthmus: 1\nname: plain\nartwork: {top: top.gbr}\nholes: [{file: h.drl}]\nnetlist: "
          "n.d356\nstage: etched-top\n" +
              (process.empty() ? "" : "process: {" + process + "}\n"));
    auto file = formats::read_board_file(dir_.path() / "board.yaml");
    EXPECT_TRUE(file) << (file ? "" : format(file.problem()));
    Diagnostics notes;
    auto loaded = load_board(*file, notes);
    EXPECT_TRUE(loaded) << (loaded ? "" : format(loaded.problem()));
    return std::move(*loaded);
  }
  static std::string record(const char* net, const char* ref, int pin, int x, int y) {
    char text[100];
    std::snprintf(text, sizeof text, "317%-14s   %-6s-%d   D0800PA01X%+07dY%+07dX1600Y0000\n", net,
                  ref, pin, x, y);
    return text;
  }
  void write(const std::string& name, const std::string& text) { dir_.write(name, text); }
  test::TempDir dir_;
};

const std::string kPlain =
    "D11*\nX0Y0D02*\nX10000000Y0D01*\nX0Y3000000D02*\nX10000000Y3000000D01*\n";

TEST_F(Capability, ABoardWithinItsProcessFallsShortNowhere) {
  EXPECT_TRUE(shortfalls(*board(kPlain)).empty());
}

TEST_F(Capability, ATrackThinnerThanTheProcessIsNamedOnceWithItsLength) {
  const auto b = board(
      "D11*\nX0Y0D02*\nX10000000Y0D01*\nX0Y3000000D02*\nX4000000Y3000000D01*\n"
      "D12*\nX4000000Y3000000D02*\nX7000000Y3000000D01*\nD11*\nX7000000Y3000000D02*\n"
      "X10000000Y3000000D01*\n");
  const auto all = shortfalls(*b);
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].kind, ShortfallKind::track);
  EXPECT_EQ(all[0].nets, std::vector<std::string>{"B"});
  EXPECT_NEAR(to_mm(all[0].drawn.value), 0.15, 0.006);
  EXPECT_NEAR(to_mm(all[0].length.value), 3, 0.6);
  EXPECT_NEAR(to_mm(all[0].at.y), 3, 0.01);
  EXPECT_EQ(all[0].side, "top");
}

TEST_F(Capability, AGapBetweenNetsIsNamedAndOneWithinANetIsNot) {
  // B comes down to y = 0.45: 0.45 - 0.3 of the two half tracks leaves 0.15. A branches off and
  // comes back to itself as close.
  const auto b = board(kPlain +
                       "X5000000Y3000000D02*\nX5000000Y450000D01*\n"
                       "X3000000Y0D02*\nX3000000Y-1000000D01*\nX2550000Y-1000000D02*\n"
                       "X2550000Y-300000D01*\nX2550000Y-1000000D02*\nX3000000Y-1000000D01*\n");
  const auto all = shortfalls(*b);
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].kind, ShortfallKind::gap);
  EXPECT_EQ(all[0].nets, (std::vector<std::string>{"A", "B"}));
  EXPECT_NEAR(to_mm(all[0].drawn.value), 0.15, 0.002);
  EXPECT_NEAR(to_mm(all[0].at.x), 5, 0.01);
  EXPECT_NEAR(to_mm(all[0].at.y), 0.225, 0.002);
}

TEST_F(Capability, ARingIsWhatTheDrillLeavesAtItsWorst) {
  // Radius 0.8 of copper, 0.4 of hole: 0.4 left; a wander of 0.5 takes it away.
  auto all = shortfalls(*board(kPlain, "drill-wander: 0.5 mm"));
  EXPECT_EQ(all.size(), 4U);
  for (const Shortfall& s : all) {
    EXPECT_EQ(s.kind, ShortfallKind::ring);
    EXPECT_NEAR(to_mm(s.drawn.value), 0.4, 0.002);
    EXPECT_EQ(s.needed.value, 500'000);
  }
  EXPECT_TRUE(shortfalls(*board(kPlain, "drill-wander: 0.39 mm")).empty());
  // A hole 0.25 mm off its pad's middle, away from the track, comes first.
  all = shortfalls(*board(kPlain, "drill-wander: 0.5 mm", -0.25));
  ASSERT_EQ(all.size(), 4U);
  EXPECT_NEAR(to_mm(all[0].drawn.value), 0.15, 0.002);
  EXPECT_NEAR(to_mm(all[0].at.x), -0.25, 0.001);
  EXPECT_LT(all[0].drawn, all[1].drawn);
}

// An area with a sharp corner, its edge drawn with a pen of 0.03 mm: the corner leads nowhere. The
// same area, tied to the other pad through its tip, is a track.
TEST_F(Capability, ACornerOfAnAreaDrawnWithAThinPenIsNoTrack) {
  const std::string area =
      "%ADD13C,0.03*%\nG36*\nX0Y3500000D02*\nX4000000Y3000000D01*\nX0Y2500000D01*\n"
      "X0Y3500000D01*\nG37*\nD13*\nX0Y3500000D02*\nX4000000Y3000000D01*\nX0Y2500000D01*\n";
  const std::string a = "D11*\nX0Y0D02*\nX10000000Y0D01*\n";
  for (const Shortfall& s : shortfalls(*board(a + area))) {
    EXPECT_NE(s.kind, ShortfallKind::track) << to_mm(s.drawn.value) << " at " << to_mm(s.at.x);
  }
  const auto tied = shortfalls(*board(a + area + "X4000000Y3000000D02*\nX10000000Y3000000D01*\n"));
  ASSERT_EQ(tied.size(), 1U);
  EXPECT_EQ(tied[0].kind, ShortfallKind::track);
  EXPECT_NEAR(to_mm(tied[0].drawn.value), 0.03, 0.006);
}

// Radius 0.8 of copper, 1.0 of hole: 0.2 less than nothing.
TEST_F(Capability, AHoleLargerThanItsPadIsMissingByTheDifference) {
  const auto b = board("");
  Board large = std::move(*b);
  for (auto& join : large.expectation.joins) join.diameter = 2_mm;
  for (const Shortfall& s : shortfalls(large)) {
    EXPECT_EQ(s.kind, ShortfallKind::ring);
    EXPECT_NEAR(to_mm(s.drawn.value), -0.2, 0.002);
  }
}

TEST_F(Capability, TheGreatestShareThatIsMissingComesFirst) {
  const auto all = shortfalls(*board(kPlain, "track: 0.4 mm, drill-wander: 1 mm"));
  ASSERT_EQ(all.size(), 6U);  // 0.4 / 1 before 0.3 / 0.4
  EXPECT_EQ(all[0].kind, ShortfallKind::ring);
  EXPECT_EQ(all[4].kind, ShortfallKind::track);
  EXPECT_EQ(all[5].kind, ShortfallKind::track);
}

}  // namespace
}  // namespace isthmus::expect
