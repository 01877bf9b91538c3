// SPDX-License-Identifier: Apache-2.0
// Oracle: distances of a few rectangles, by hand. The window is 1.27 mm.
#include "tests/expect/little_board.hpp"

namespace isthmus::test {
namespace {

// Pads of 1 mm at x = 0, 2, 6: gaps of 1 mm and 3 mm.
LittleBoard row() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("B", "R1", "2", 2, 0).surface("C", "R2", "1", 6, 0);
  return b;
}

TEST(Pairs, CloserThanTheWindowAreExpectedIsolated) {
  const auto e = row().must_run();
  EXPECT_EQ(pairs_text(e), "A-B");
  EXPECT_DOUBLE_EQ(e.pairs[0].distance_nm, 1e6);
  EXPECT_EQ(e.pairs[0].gaps.size(), 1u);
  EXPECT_EQ(e.pairs_beyond_window, 2u);
}

TEST(Pairs, PassThroughCopperWithoutPoints) {
  LittleBoard b = row();
  b.track(0, 3.5, 0, 4.5, 0, 1);  // text, from 3 to 5 mm: 0.5 mm from B, 0.5 mm from C
  const auto e = b.must_run();
  EXPECT_EQ(pairs_text(e), "A-B | B-C");
  EXPECT_EQ(e.pairs[1].through.size(), 1u);
  EXPECT_EQ(e.pairs[1].gaps.size(), 2u);
  EXPECT_DOUBLE_EQ(e.pairs[1].distance_nm, 1e6);
  EXPECT_LT(e.pairs[1].weight, e.pairs[0].weight);
}

TEST(Pairs, DoNotPassThroughCopperWithPoints) {
  LittleBoard b = row();
  b.surface("D", "R3", "1", 4, 0);  // 1 mm from B and from C
  EXPECT_EQ(pairs_text(b.must_run()), "A-B | B-D | C-D");
}

TEST(Pairs, PassThroughPointlessCopperOnTheEndsOfALink) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("C", "R2", "1", 20, 0);
  b.track(0, 1.5, 0, 4.5, 0, 1).track(0, 15.5, 0, 18.5, 0, 1);
  b.design.board.links = {{position_mm(4, 0), position_mm(16, 0), Side::top}};
  EXPECT_EQ(pairs_text(b.stage(Stage::joined).must_run()), "A-C");
  EXPECT_EQ(pairs_text(b.stage(Stage::etched).must_run()), "");
}

// A hole that no record names is a place of its copper: nothing passes through unseen.
TEST(Pairs, DoNotPassThroughAHole) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0, 1).surface("C", "R2", "1", 8, 0, 2);
  b.track(0, 1.5, 0, 4.5, 0, 1).track(1, 3.5, 0, 6.5, 0, 1).hole(4, 0, 0.5);
  EXPECT_EQ(pairs_text(b.stage(Stage::joined).must_run()), "A-#1 | C-#1");
  EXPECT_EQ(pairs_text(b.stage(Stage::etched).must_run()), "A-#1 | C-#1");
}

TEST(Pairs, OnEitherSideCount) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0).surface("B", "R1", "1", 2, 0, 2);
  EXPECT_EQ(pairs_text(b.stage(Stage::joined).must_run()), "A-B");
  EXPECT_EQ(pairs_text(b.stage(Stage::etched_top).must_run()), "");
}

TEST(Pairs, OfOneNetAreNeither) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R1", "2", 2, 0);
  const auto e = b.must_run();
  EXPECT_TRUE(e.pairs.empty());
  EXPECT_EQ(e.pairs_beyond_window, 0u);
}

TEST(Pairs, OfTiedNetsAreNeither) {
  LittleBoard b = row();
  b.design.board.net_ties = {{"A", "B"}};
  const auto e = b.must_run();
  EXPECT_EQ(pairs_text(e), "");
  EXPECT_EQ(e.pairs_beyond_window, 2u);
}

TEST(Pairs, TwoNetsOnOnePieceAreAPairWithoutDistance) {
  LittleBoard b = row();
  b.track(0, 0, 0, 2, 0, 0.3);
  const auto e = b.must_run();
  EXPECT_EQ(pairs_text(e), "A-B");
  EXPECT_EQ(e.pairs[0].distance_nm, 0.0);
}

TEST(Pairs, EveryOtherPairIsCountedBeyond) {
  LittleBoard b;
  for (int i = 0; i < 6; ++i)
    b.surface("N" + std::to_string(i), "J1", std::to_string(i), 10 * i, 0);
  const auto e = b.must_run();
  EXPECT_EQ(e.pairs.size(), 0u);
  EXPECT_EQ(e.pairs_beyond_window, 15u);  // 6 * 5 / 2
}

}  // namespace
}  // namespace isthmus::test
