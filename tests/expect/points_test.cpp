// SPDX-License-Identifier: Apache-2.0
// Oracle: the rules for ids and stages, applied by hand to boards of a few rectangles.
#include "tests/expect/little_board.hpp"

namespace isthmus::test {
namespace {

using Texts = std::vector<std::string>;

LittleBoard header_and_chip() {
  LittleBoard b;
  b.through("SDA", "J1", "1", 0, 0).surface("SDA", "U1", "3", 10, 0).track(0, 0, 0, 10, 0, 0.3);
  return b;
}

TEST(Points, HoleThatNothingJoinsIsTwo) {
  const auto e = header_and_chip().must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1@top", "J1.1@bottom", "U1.3"}));
  EXPECT_EQ(e.points[0].side, Side::top);
  EXPECT_EQ(e.points[1].side, Side::bottom);
}

TEST(Points, JoinedHoleIsOnePointOnBothSides) {
  const auto e = header_and_chip().stage(Stage::joined).must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1", "U1.3"}));
  EXPECT_EQ(e.points[0].side, Side::both);
  EXPECT_TRUE(e.points[0].islands[0] && e.points[0].islands[1]);
}

TEST(Points, OnlyTheEtchedSideCounts) {
  EXPECT_EQ(ids(header_and_chip().stage(Stage::etched_top).must_run()),
            (Texts{"J1.1@top", "U1.3"}));
  EXPECT_EQ(ids(header_and_chip().stage(Stage::etched_bottom).must_run()), (Texts{"J1.1@bottom"}));
}

TEST(Points, JoinsAreIgnoredWhileOnlyEtched) {
  LittleBoard b = header_and_chip();
  b.design.board.joins_mode = formats::JoinsMode::listed;
  b.design.board.joins = {{position_mm(0, 0), formats::JoinKind::wire, false}};
  EXPECT_EQ(ids(b.must_run()), (Texts{"J1.1@top", "J1.1@bottom", "U1.3"}));
}

TEST(Points, SideWithoutCopperAtTheHoleHasNoPoint) {
  LittleBoard b;
  b.pad(1, 0, 0, 1.6, 1.6).hole(0, 0, 0.8).record("A", "J1", "1", 0, 0, 0);
  EXPECT_EQ(ids(b.must_run()), (Texts{"J1.1@bottom"}));
  EXPECT_EQ(ids(b.stage(Stage::joined).must_run()), (Texts{"J1.1"}));
  EXPECT_EQ(b.must_run().points[0].side, Side::bottom);
}

TEST(Points, FurtherPadsOfOnePinAreNumberedByXThenYThenSide) {
  LittleBoard b;
  b.surface("GND", "U2", "9", 5, 5)
      .surface("GND", "U2", "9", 0, 5)
      .surface("GND", "U2", "9", 0, 0, 2);
  b.surface("GND", "U2", "9", 0, 0, 1);
  const auto e = b.must_run();
  EXPECT_EQ(ids(e), (Texts{"U2.9", "U2.9#2", "U2.9#3", "U2.9#4"}));
  EXPECT_EQ(e.points[0].side, Side::top);
  EXPECT_EQ(e.points[1].side, Side::bottom);
  EXPECT_EQ(e.points[2].at, position_mm(0, 5));
  EXPECT_EQ(e.points[3].at, position_mm(5, 5));
}

TEST(Points, PlacesAndViasAreNamedByMillimetres) {
  LittleBoard b;
  b.surface("A", "", "", 1.2345, -0.0001).through("A", "VIA", "", -3.5, 2);
  const auto e = b.stage(Stage::joined).must_run();
  EXPECT_EQ(ids(e), (Texts{"@1.235,0.000", "VIA@-3.500,2.000"}));
  EXPECT_TRUE(e.points[1].via);
}

TEST(Points, ReferencesSortByNumber) {
  LittleBoard b;
  b.surface("A", "R10", "1", 0, 0).surface("B", "R9", "2", 5, 0).surface("C", "R9", "1", 9, 0);
  EXPECT_EQ(ids(b.must_run()), (Texts{"R9.1", "R9.2", "R10.1"}));
}

TEST(Points, TwoReferencesAtOnePlaceOnOneNetAreOnePad) {
  LittleBoard b;
  b.through("A", "K1", "1", 0, 0).record("A", "K2", "1", 0, 0, 0);
  const auto e = b.must_run();
  EXPECT_EQ(ids(e), (Texts{"K1.1@top", "K1.1@bottom"}));
  EXPECT_EQ(e.points[1].aliases, (Texts{"K2.1@bottom"}));
  EXPECT_EQ(*expect::find_point(e, "K2.1@bottom", std::nullopt), PointId{1});
}

TEST(Points, PadStaysAndViaAtItsPlaceIsItsAlias) {
  LittleBoard b;
  b.record("A", "VIA", "", 0, 0, 0).through("A", "J1", "1", 0, 0);
  const auto e = b.stage(Stage::joined).must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1"}));
  EXPECT_FALSE(e.points[0].via);
  EXPECT_EQ(e.points[0].aliases, (Texts{"VIA@0.000,0.000"}));
}

TEST(Points, ContradictingRecordsAtOnePlaceBothStay) {
  LittleBoard b;
  b.surface("A", "J1", "1", 0, 0).record("B", "J1", "1", 0, 0, 1);
  const auto e = b.must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1", "J1.1#2"}));
  EXPECT_EQ(disagreements_text(e), (Texts{"bridge A B: J1.1 J1.1#2 top"}));
}

TEST(Points, EachUnconnectedRecordIsANetOfItsOwn) {
  LittleBoard b;
  b.surface("N/C", "U1", "1", 0, 0).surface("", "U1", "2", 5, 0).surface("N/C", "U1", "3", 10, 0);
  EXPECT_EQ(groups_text(b.must_run()), "N/C(U1.1): U1.1 | N/C(U1.2): U1.2 | N/C(U1.3): U1.3");
}

TEST(Points, UnconnectedRecordsOnOneIslandShareTheFirstName) {
  LittleBoard b;
  b.surface("N/C", "U1", "10", 0, 0).surface("N/C", "U1", "2", 5, 0).track(0, 0, 0, 5, 0, 0.3);
  EXPECT_EQ(groups_text(b.must_run()), "N/C(U1.2): U1.2 U1.10");
}

TEST(Points, ToolingRecordsAreNotPoints) {
  LittleBoard b = header_and_chip();
  b.hole(20, 0, 3.2, false).record("N/C", "", "", 20, 0, 0);
  b.design.netlist->records.back().kind = formats::FeatureKind::tooling;
  EXPECT_EQ(ids(b.must_run()).size(), 3u);
}

TEST(Points, InnerRecordsAreLeftOutAndSaidSo) {
  LittleBoard b(4);
  b.surface("A", "R1", "1", 0, 0).pad(1, 5, 5, 1, 1).record("A", "", "", 5, 5, 2);
  EXPECT_EQ(ids(b.must_run()), (Texts{"R1.1"}));
  EXPECT_EQ(b.note_codes(), (Texts{"EXP-020"}));
}

TEST(Points, ThroughRecordWithoutHoleIsSaidSo) {
  LittleBoard b;
  b.pad(0, 0, 0, 1, 1).pad(1, 0, 0, 1, 1).record("A", "J1", "1", 0, 0, 0);
  const auto e = b.must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1@top", "J1.1@bottom"}));
  EXPECT_TRUE(e.disagreements.empty());
  EXPECT_EQ(b.note_codes(), (Texts{"EXP-021"}));
}

TEST(Points, LongPadKnowsItsHoleByTheDrilledDiameter) {
  LittleBoard b;
  b.pad(0, 0, 0, 3, 1.5).pad(1, 0, 0, 3, 1.5).record("A", "J1", "1", 0, 0, 0);
  b.design.netlist->records[0].size_x = from_mm(3);
  b.design.netlist->records[0].hole = from_mm(0.8);
  b.hole(0.9, 0, 0.6).hole(1.2, 0, 0.8);
  const auto e = b.stage(Stage::joined).must_run();
  EXPECT_EQ(ids(e), (Texts{"J1.1", "@0.900,0.000"}));  // the other hole is a place of its own
  EXPECT_EQ(e.points[0].join, 1u);
}

TEST(Points, ViaIsRequiredLaterOnlyAtAnEnd) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 20, 0);
  b.through("A", "VIA", "", 5, 0).through("A", "VIA", "", 10, 0).through("A", "VIA", "", 15, 10);
  b.track(0, 0, 0, 5, 0, 0.3).track(1, 5, 0, 10, 0, 0.3).track(0, 10, 0, 20, 0, 0.3);
  b.track(0, 15, 0, 15, 10, 0.3);  // a track that ends in the third via
  const auto required = [](const expect::Expectation& e) {
    Texts out;
    for (const auto& p : e.points) {
      if (p.via && p.required) out.push_back(p.id);
    }
    return out;
  };
  EXPECT_EQ(required(b.stage(Stage::joined).must_run()), (Texts{"VIA@15.000,10.000"}));
  EXPECT_EQ(required(b.stage(Stage::etched).must_run()).size(), 6u);
}

TEST(Points, X2PadsAndViasCarryTheirNets) {
  LittleBoard b;
  b.design.board.netlist_source = formats::NetlistSource::gerber_x2;
  formats::Attributes pad{{{"SDA"}}, "U1", "3", "", "SMDPad"};
  formats::Attributes via{{{"SDA"}}, "", "", "", "ViaPad"};
  formats::Attributes nc{{{"N/C"}}, "U1", "4", "", "SMDPad"};
  b.pad(0, 0, 0, 1, 1, pad).pad(0, 5, 0, 1, 1, nc).pad(0, 3, 5, 1, 1, via).pad(1, 3, 5, 1, 1, via);
  b.hole(3, 5, 0.4);
  const auto e = b.stage(Stage::joined).must_run();
  EXPECT_EQ(ids(e), (Texts{"U1.3", "U1.4", "VIA@3.000,5.000"}));
  EXPECT_EQ(groups_text(e), "SDA: U1.3 | N/C(U1.4): U1.4 | SDA: VIA@3.000,5.000");
  EXPECT_EQ(e.basis, "gerber-x2");
}

TEST(Points, X2PadWithoutNetNameIsSaidSo) {
  LittleBoard b;
  b.design.board.netlist_source = formats::NetlistSource::gerber_x2;
  b.pad(0, 0, 0, 1, 1, {std::nullopt, "U1", "3", "", "SMDPad"});
  EXPECT_EQ(disagreements_text(b.must_run()), (Texts{"no-net N/C(U1.3): U1.3 top"}));
}

TEST(Points, ArtworkAloneNamesPiecesByTheirFirstPoint) {
  LittleBoard b;
  b.design.board.netlist_source = formats::NetlistSource::artwork;
  b.pad(0, 0, 0, 1, 1).pad(0, 5, 0, 1, 1).track(0, 0, 0, 5, 0, 0.3).pad(0, 9, 0, 1, 1);
  b.pad(1, 9, 0, 1, 1).hole(9, 0, 0.5);
  const auto e = b.stage(Stage::joined).must_run();
  EXPECT_EQ(groups_text(e), "@0.000,0.000: @0.000,0.000 @5.000,0.000 | @9.000,0.000: @9.000,0.000");
  EXPECT_EQ(e.points[2].side, Side::both);
  EXPECT_EQ(e.basis, "artwork");
}

TEST(Points, CutNamesWithDifferentFullNamesAreTwoNets) {
  LittleBoard b;
  // 14 columns hold the tail of both (IPC-D-356A, columns 4-17).
  const std::string cut = "SENSOR_SUPPLY_";
  const formats::Attributes left{{{"left_sensor_supply_"}}, "", "", "", "SMDPad"};
  const formats::Attributes right{{{"right_sensor_supply_"}}, "", "", "", "SMDPad"};
  b.pad(0, 0, 0, 1, 1, left).pad(0, 5, 0, 1, 1, right);
  b.record(cut, "R1", "1", 0, 0, 1).record(cut, "R2", "1", 5, 0, 1);
  const auto e = b.must_run();
  EXPECT_TRUE(e.disagreements.empty());
  ASSERT_EQ(e.groups.size(), 2u);
  EXPECT_EQ(e.groups[0].net_full, "left_sensor_supply_");
  EXPECT_EQ(e.groups[1].net, cut);
  EXPECT_EQ(e.pairs_beyond_window + e.pairs.size(), 1u);
}

TEST(Points, FullNamesDoNotOverruleANetlistNameThatWasNotCut) {
  LittleBoard b;
  b.pad(0, 0, 0, 1, 1, {{{"/left"}}, "", "", "", "SMDPad"});
  b.pad(0, 5, 0, 1, 1, {{{"/right"}}, "", "", "", "SMDPad"});
  b.record("A", "R1", "1", 0, 0, 1).record("A", "R2", "1", 5, 0, 1);
  EXPECT_EQ(disagreements_text(b.must_run()), (Texts{"open A: R1.1 R2.1 top"}));
}

}  // namespace
}  // namespace isthmus::test
