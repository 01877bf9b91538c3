// SPDX-License-Identifier: Apache-2.0
// What a board description may get wrong, and points by name. Oracle: the stated rules.
#include "isthmus/expect/expectation.hpp"

#include "tests/expect/little_board.hpp"

namespace isthmus::test {
namespace {

using Texts = std::vector<std::string>;

LittleBoard pads(int n, double shift = 0) {
  LittleBoard b;
  for (int i = 0; i < n; ++i) {
    const double x = 3.0 * i + 0.1 * i * i;
    b.pad(0, x, 0, 1, 1)
        .record("N" + std::to_string(i), "J1", std::to_string(i + 1), x + shift, 0, 1);
  }
  return b;
}

TEST(Expectation, NetlistOfAnotherOriginIsRefused) {
  LittleBoard b = pads(20, 1.25);
  const Problem p = b.run().problem();
  EXPECT_EQ(p.code, "EXP-001");
  EXPECT_EQ(p.file, "little.d356");
  EXPECT_TRUE(holds(p.message, "of 20 netlist points")) << p.message;
}

// Two tracks, each of two pads. Moved nets that lie on one piece of copper are another board's.
TEST(Expectation, MovedNetlistWhoseNetsShareTheirCopperIsRefused) {
  LittleBoard b;
  for (const double y : {0.0, 5.0}) {
    b.pad(0, 0, y, 1, 1).pad(0, 5, y, 1, 1).track(0, 0, y, 5, y, 0.3);
    b.record("LEFT", "J1", std::to_string(y), 0, y, 1);
    b.record("RIGHT", "J2", std::to_string(y), 5, y, 1);
  }
  EXPECT_TRUE(b.run().ok());  // as filed it is a board with a bridge and two opens
  b.design.netlist->moved = formats::Frame{position_mm(1, 1), false, false, 1.0};
  EXPECT_EQ(b.run().problem().code, "EXP-009");
}

TEST(Expectation, NineTenthsOnCopperAreEnough) {
  LittleBoard b = pads(10);
  b.design.netlist->records[0].at = position_mm(0, 50);
  EXPECT_TRUE(b.run().ok());
  b.design.netlist->records[1].at = position_mm(5, 50);
  EXPECT_EQ(b.run().problem().code, "EXP-001");
}

TEST(Expectation, SourceWithoutPointsIsRefused) {
  LittleBoard b;
  b.pad(0, 0, 0, 1, 1);
  EXPECT_EQ(b.run().problem().code, "EXP-008");
  b.design.board.netlist_source = formats::NetlistSource::gerber_x2;
  EXPECT_EQ(b.run().problem().code, "EXP-008");
}

TEST(Expectation, WaivedPointKeepsItsReasonAndStaysRequired) {
  LittleBoard b = pads(3);
  b.waive("J1.2", "under the label");
  const auto e = b.must_run();
  EXPECT_TRUE(e.points[1].waived);
  EXPECT_TRUE(e.points[1].required);
  EXPECT_EQ(e.points[1].waive_why, "under the label");
  EXPECT_FALSE(e.points[0].waived);
}

TEST(Expectation, PlainNameWaivesBothSidesOfAHole) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0);
  b.waive("J1.1", "clip");
  const auto e = b.must_run();
  EXPECT_TRUE(e.points[0].waived && e.points[1].waived);
}

TEST(Expectation, WaiverOfOneSideDoesNotWaiveTheJoinedHole) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0);
  b.waive("J1.1@top", "clip");
  EXPECT_FALSE(b.stage(Stage::joined).must_run().points[0].waived);
  EXPECT_EQ(b.note_codes(), (Texts{"EXP-022"}));
  EXPECT_EQ(b.notes.list().at(0).severity, Severity::warning);
}

TEST(Expectation, WaiverOfNothingIsRefused) {
  LittleBoard b = pads(3);
  b.waive("J1.22", "typing");
  const Problem p = b.run().problem();
  EXPECT_EQ(p.code, "EXP-002");
  EXPECT_TRUE(holds(p.hint, "did you mean J1.2")) << p.hint;
}

TEST(FindPoint, KnowsPointsByTheirIds) {
  const auto e = pads(3).must_run();
  EXPECT_EQ(*expect::find_point(e, "J1.3", std::nullopt), PointId{2});
}

TEST(FindPoint, ProposesNamesNearAnUnknownOne) {
  const auto e = pads(3).must_run();
  const Problem p = expect::find_point(e, "J2.1", std::nullopt).problem();
  EXPECT_EQ(p.code, "EXP-006");
  EXPECT_TRUE(holds(p.hint, "J1.1")) << p.hint;
}

TEST(FindPoint, TakesTheOneNameInOtherCapitals) {
  const auto e = pads(3).must_run();
  EXPECT_EQ(*expect::find_point(e, "j1.3", std::nullopt), PointId{2});
}

TEST(FindPoint, DoesNotChooseBetweenTwoNamesInOtherCapitals) {
  auto e = pads(3).must_run();
  e.points[0].id = "c1.1";
  e.points[1].id = "C1.1";
  EXPECT_EQ(*expect::find_point(e, "C1.1", std::nullopt), PointId{1});
  e.points[0].id = "cx.1";
  e.points[1].id = "Cx.1";
  EXPECT_EQ(expect::find_point(e, "CX.1", std::nullopt).problem().code, "EXP-006");
}

TEST(FindPoint, PlainNameOfAnUnjoinedHoleNeedsASide) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0);
  const auto e = b.must_run();
  EXPECT_EQ(expect::find_point(e, "J1.1", std::nullopt).problem().code, "EXP-007");
  EXPECT_EQ(expect::find_point(e, "j1.1", std::nullopt).problem().code, "EXP-007");
  EXPECT_EQ(*expect::find_point(e, "j1.1", Side::top), *expect::find_point(e, "J1.1", Side::top));
  EXPECT_EQ(*expect::find_point(e, "J1.1", Side::top), PointId{0});
  EXPECT_EQ(*expect::find_point(e, "J1.1", Side::bottom), PointId{1});
}

TEST(FindPoint, PlainNameIsEnoughWhereOneSideHasCopper) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0);
  EXPECT_EQ(*expect::find_point(b.stage(Stage::etched_top).must_run(), "J1.1", std::nullopt),
            PointId{0});
}

// Objects of a board in another order: the same points, groups and pairs by name.
TEST(Expectation, OrderOfTheObjectsDoesNotMatter) {
  LittleBoard b = pads(12);
  const auto before = b.must_run();
  std::reverse(b.design.copper[0].objects.begin(), b.design.copper[0].objects.end());
  std::reverse(b.design.netlist->records.begin(), b.design.netlist->records.end());
  const auto after = b.must_run();
  EXPECT_EQ(ids(after), ids(before));
  EXPECT_EQ(groups_text(after), groups_text(before));
  EXPECT_EQ(pairs_text(after), pairs_text(before));
}

}  // namespace
}  // namespace isthmus::test
