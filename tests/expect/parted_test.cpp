// SPDX-License-Identifier: Apache-2.0
// Holes drilled right through their copper. Oracle: a track of 0.6 mm has nothing left beside a hole
// of 0.6 mm in its middle, and 0.05 mm on each side of one of 0.5 mm.
#include "tests/expect/little_board.hpp"

namespace isthmus::test {
namespace {

// A from R1 to R2, 10 mm along y = 0, and a bottom side.
LittleBoard track() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 0).track(0, 0, 0, 10, 0, 0.6);
  b.surface("B", "R3", "1", 0, 8, 2);
  return b;
}

std::vector<std::string> warnings(LittleBoard b) {
  const auto copper = std::move(copper::extract_copper(b.design)).value();
  const auto gaps = copper::find_gaps(copper, b.design.board.limits.window);
  const auto conductors = copper::trace_conductors(b.design, copper);
  Diagnostics notes;
  EXPECT_TRUE(expect::expect_board(b.design, copper, gaps, notes, &conductors));
  std::vector<std::string> said;
  for (const Diagnostic& d : notes.list()) {
    if (d.what.code == "EXP-026") said.push_back(d.what.message);
  }
  return said;
}

TEST(PartingHoles, AreNamedWithTheirPlaceAndWhatTheyPart) {
  EXPECT_EQ(warnings(track().hole(5, 0, 0.8)),
            std::vector<std::string>{"the hole of 0.80 mm at [5.000, 0.000] is as wide as its "
                                     "copper on top or wider: drilled and not filled, it parts "
                                     "net A, R1.1 from R2.1"});
}

TEST(PartingHoles, AreThoseAsWideAsTheirTrackToo) {
  EXPECT_EQ(warnings(track().hole(5, 0, 0.6)).size(), 1u);
  EXPECT_EQ(warnings(track().hole(5, 0, 0.5)).size(), 0u);
}

TEST(PartingHoles, AreNoneThatHaveAPad) {
  EXPECT_EQ(warnings(track().through("A", "J1", "1", 5, 0)).size(), 0u);
}

TEST(PartingHoles, AreNoneWhereCopperLeadsRound) {
  LittleBoard b = track();
  b.track(0, 2, 0, 2, 3, 0.3).track(0, 2, 3, 8, 3, 0.3).track(0, 8, 0, 8, 3, 0.3);
  EXPECT_EQ(warnings(std::move(b.hole(5, 0, 0.8))).size(), 0u);
}

// 0.1 mm is left on the one side.
TEST(PartingHoles, AreNoneThatOnlyBiteTheirTrack) {
  EXPECT_EQ(warnings(track().hole(5, 0.2, 0.8)).size(), 0u);
}

// A stub of 2 mm beyond R2, drilled: nothing is to be reached behind it.
TEST(PartingHoles, AreNoneWhereNothingLiesBehind) {
  LittleBoard b = track();
  b.track(0, 10, 0, 12, 0, 0.6);
  EXPECT_EQ(warnings(std::move(b.hole(11.5, 0, 0.8))).size(), 0u);
}

// A pad of 1 mm, and both tracks of 0.3 mm leave it to the right: the hole that lies to the left of
// its middle leaves copper from one to the other.
TEST(PartingHoles, AreNoneBesideWhichBothWaysStillMeet) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 2).surface("A", "R3", "1", 10, -2);
  b.track(0, 0.35, 0, 0.35, 2, 0.3).track(0, 0.35, 2, 10, 2, 0.3);
  b.track(0, 0.35, 0, 0.35, -2, 0.3).track(0, 0.35, -2, 10, -2, 0.3);
  b.surface("B", "R4", "1", 0, 8, 2);
  EXPECT_EQ(warnings(std::move(b.hole(-0.3, 0, 0.9))).size(), 0u);
}

// The barrel carries the current round.
TEST(PartingHoles, AreNoneOnceTheyAreFilled) {
  LittleBoard b = track();
  b.hole(5, 0, 0.8).pad(1, 5, 0, 1.6, 1.6);
  b.design.board.joins_mode = formats::JoinsMode::all;
  EXPECT_EQ(warnings(LittleBoard(b).stage(Stage::etched)).size(), 1u);
  EXPECT_EQ(warnings(b.stage(Stage::joined)).size(), 0u);
}

TEST(PartingHoles, OnlyMatterOnTheSideThatIsEtched) {
  EXPECT_EQ(warnings(track().hole(5, 0, 0.8).stage(Stage::etched_top)).size(), 1u);
  EXPECT_EQ(warnings(track().hole(5, 0, 0.8).stage(Stage::etched_bottom)).size(), 0u);
}

}  // namespace
}  // namespace isthmus::test
