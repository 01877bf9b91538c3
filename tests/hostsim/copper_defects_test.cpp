// SPDX-License-Identifier: Apache-2.0
// What defects, holes and stages do to the copper.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "hostsim/copper/defects.hpp"
#include "hostsim/copper/holes.hpp"
#include "tests/hostsim/drawn.hpp"

namespace isthmus::hostsim {
namespace {

using namespace test;

// Two tracks 0.2 mm wide, 0.2 mm apart, 20 mm long.
formats::Design two_tracks() {
  return design({layer({region(box(0, 0, 20, 0.2)), region(box(0, 0.4, 20, 0.6))})});
}

Defect defect(DefectKind kind, Spot at, Spot to = {}) {
  Defect d;
  d.kind = kind;
  d.at = position_mm(at.x, at.y);
  d.to = position_mm(to.x, to.y);
  d.side = "top";
  d.line = 7;
  return d;
}

CopperBoard make_with(const Defect& d, const formats::Design& design) {
  Scenario s = scenario();
  s.defects.push_back(d);
  return make_copper_board(s, design).value();
}

TEST(Open, CutsATrack) {
  Defect d = defect(DefectKind::open, {10, 0.1});
  d.diameter_mm = 0.3;
  const CopperBoard b = make_with(d, two_tracks());
  EXPECT_FALSE(connected(b, node_at(b, 1, 0.1), node_at(b, 19, 0.1)));
  EXPECT_TRUE(connected(b, node_at(b, 1, 0.5), node_at(b, 19, 0.5)));
  EXPECT_TRUE(b.warnings.empty());
}

TEST(Open, BesideTheCopperIsWarnedOf) {
  Defect d = defect(DefectKind::open, {10, 3});
  d.diameter_mm = 0.3;
  EXPECT_EQ(make_with(d, two_tracks()).warnings,
            (std::vector<std::string>{"the open at line 7 changes nothing: no copper there"}));
}

TEST(Bridge, ConnectsHoweverThinItIs) {
  for (const double x : {10.0, 10.005, 10.013}) {
    Defect d = defect(DefectKind::bridge, {x, 0.1}, {x + 0.31, 0.5});
    d.width_mm = 0.001;
    const CopperBoard b = make_with(d, two_tracks());
    EXPECT_TRUE(connected(b, node_at(b, 1, 0.1), node_at(b, 1, 0.5))) << x;
  }
}

TEST(Bridge, HasTheResistanceOfItsWidth) {
  Defect d = defect(DefectKind::bridge, {10.01, 2}, {10.01, 8});
  d.width_mm = 0.1;
  CopperBoard b =
      make_with(d, design({layer({region(box(0, 0, 20, 2)), region(box(0, 8, 20, 10))})}));
  const double r = transfer_ohm(b, node_at(b, 10, 0.2), node_at(b, 10, 9.8), node_at(b, 10.01, 3),
                                node_at(b, 10.01, 7));
  EXPECT_NEAR(r / kSheetOhm, 4 / 0.1, 0.5);
}

TEST(Neck, ActsAsItsWidthOverItsLength) {
  for (const double x : {10.0, 10.01, 10.037}) {
    Defect d = defect(DefectKind::neck, {x, 0.13});
    d.width_mm = 0.02;
    d.length_mm = 1.0;
    CopperBoard b = make_with(d, two_tracks());
    const double r = transfer_ohm(b, node_at(b, 0.1, 0.1), node_at(b, 19.9, 0.1),
                                  node_at(b, 4.01, 0.1), node_at(b, 16.01, 0.1));
    EXPECT_NEAR(r / kSheetOhm, 11 / 0.2 + 1 / 0.02, 1.1) << x;  // 2 cells of the neck's 50
  }
}

TEST(Neck, FollowsASlopingTrack) {
  Defect d = defect(DefectKind::neck, {7, 7});
  d.width_mm = 0.02;
  d.length_mm = 1.0;
  const auto slope = design({layer({region(contour({{0, 0}, {0.2, 0}, {14.2, 14}, {14, 14}}))})});
  CopperBoard whole = make_copper_board(scenario(), slope).value(), b = make_with(d, slope);
  const auto r = [](CopperBoard& board) {
    return ohm_between(board, node_at(board, 1.1, 1), node_at(board, 13.1, 13));
  };
  const double width = 0.2 / std::sqrt(2.0);
  EXPECT_NEAR((r(b) - r(whole)) / kSheetOhm, 1 / 0.02 - 1 / width, 5);
}

// A track of 0.2 mm at an angle, and a neighbour 0.2 mm beside it: what the neck adds is what it
// asks.
double squares_added(const formats::Design& board, Spot place, Spot from, Spot to) {
  Defect d = defect(DefectKind::neck, place);
  d.width_mm = 0.02;
  d.length_mm = 1.0;
  CopperBoard whole = make_copper_board(scenario(), board).value(), necked = make_with(d, board);
  const auto r = [&](CopperBoard& b) {
    return ohm_between(b, node_at(b, from.x, from.y), node_at(b, to.x, to.y));
  };
  return (r(necked) - r(whole)) / kSheetOhm;
}

Contour bar(double degrees, double offset) {
  const double c = std::cos(degrees * std::numbers::pi / 180),
               s = std::sin(degrees * std::numbers::pi / 180);
  const auto at = [&](double along, double across) {
    return Spot{10 + along * c - across * s, 10 + along * s + across * c};
  };
  return contour(
      {at(-8, offset - 0.1), at(8, offset - 0.1), at(8, offset + 0.1), at(-8, offset + 0.1)});
}

TEST(Neck, AddsItsSquaresAtEveryAngle) {
  for (const double degrees : {0.0, 17.0, 45.0, 63.0, 90.0, 162.0}) {
    const auto board = design({layer({region(bar(degrees, 0)), region(bar(degrees, 0.4))})});
    const double c = std::cos(degrees * std::numbers::pi / 180),
                 s = std::sin(degrees * std::numbers::pi / 180);
    const double squares = squares_added(board, {10 - 0.05 * s, 10 + 0.05 * c},
                                         {10 - 7 * c, 10 - 7 * s}, {10 + 7 * c, 10 + 7 * s});
    EXPECT_NEAR(squares, 1 / 0.02 - 1 / 0.2, 0.15 * 45) << degrees;
  }
}

TEST(Neck, FollowsABend) {
  const auto board = design(
      {layer({region(contour({{0, 0}, {10, 0}, {10, 10}, {9.8, 10}, {9.8, 0.2}, {0, 0.2}}))})});
  for (const double x : {9.0, 9.5, 9.7, 9.9})
    EXPECT_NEAR(squares_added(board, {x, 0.1}, {1, 0.1}, {9.9, 9}), 45, 0.15 * 45) << x;
}

// The same on a conductor with so much copper that its squares are coarse.
TEST(Neck, AddsItsSquaresBesideAPour) {
  for (const double degrees : {17.0, 45.0}) {
    const double c = std::cos(degrees * std::numbers::pi / 180),
                 s = std::sin(degrees * std::numbers::pi / 180);
    const double x = 10 + 8 * c, y = 10 + 8 * s;
    const auto board =
        design({layer({region(bar(degrees, 0)), region(box(x - 1, y - 1, x + 40, y + 40))})});
    EXPECT_NEAR(squares_added(board, {10, 10}, {10 - 7 * c, 10 - 7 * s}, {10 + 7 * c, 10 + 7 * s}),
                45, 0.15 * 45)
        << degrees;
  }
}

TEST(Whisker, IsAResistorBetweenItsEnds) {
  Defect d = defect(DefectKind::whisker, {10, 0.25}, {10, 0.35});
  d.ohm = 300;
  const CopperBoard b = make_with(d, two_tracks());
  ASSERT_EQ(b.graph.leaks.size(), 1u);
  EXPECT_TRUE(connected(b, b.graph.leaks[0].a, node_at(b, 1, 0.1)));
  EXPECT_TRUE(connected(b, b.graph.leaks[0].b, node_at(b, 1, 0.5)));
  EXPECT_DOUBLE_EQ(b.graph.leaks[0].ohm, 300);
}

TEST(Leak, HangsBetweenTheTwoNearestConductors) {
  Defect d = defect(DefectKind::leak, {10, 0.3});
  d.ohm = 1e6;
  const CopperBoard b = make_with(d, two_tracks());
  ASSERT_EQ(b.graph.leaks.size(), 1u);
  EXPECT_FALSE(connected(b, b.graph.leaks[0].a, b.graph.leaks[0].b));
  EXPECT_NEAR(static_cast<double>(b.nodes[static_cast<std::size_t>(b.graph.leaks[0].a)].x),
              b.grid.cell_x(10'000'000), 3);
}

// Three tracks: nearest to the place are the first two, but the nets named are the outer ones.
TEST(Leak, HangsOnTheNetsItNames) {
  formats::Design three = design({layer(
      {region(box(0, 0, 20, 0.2)), region(box(0, 0.4, 20, 0.6)), region(box(0, 0.8, 20, 1.0))})});
  three.netlist.emplace();
  for (const double y : {0.1, 0.5, 0.9}) {
    formats::NetlistRecord r;
    r.net = y < 0.2 ? "A" : y < 0.6 ? "B" : "C";
    r.at = position_mm(1, y);
    r.access = 1;
    three.netlist->records.push_back(r);
  }
  Defect d = defect(DefectKind::leak, {10, 0.3});
  d.ohm = 1e6;
  d.nets = {"A", "C"};
  const CopperBoard b = make_with(d, three);
  ASSERT_EQ(b.graph.leaks.size(), 1u);
  EXPECT_TRUE(connected(b, b.graph.leaks[0].a, node_at(b, 1, 0.1)));
  EXPECT_TRUE(connected(b, b.graph.leaks[0].b, node_at(b, 1, 0.9)));
}

TEST(Leak, WithoutTwoConductorsIsRefused) {
  Scenario s = scenario();
  s.path = "sim.yaml";
  s.defects.push_back(defect(DefectKind::leak, {1, 0.3}));
  const auto b = make_copper_board(s, design({layer({region(box(0, 0, 2, 1))})}));
  ASSERT_FALSE(b);
  EXPECT_EQ(b.problem().code, "SIM-042");
}

TEST(Defects, OnASideTheBoardLacksAreRefused) {
  Scenario s = scenario();
  Defect d = defect(DefectKind::open, {1, 0.1});
  d.side = "L3";
  d.diameter_mm = 1;
  s.defects.push_back(d);
  const auto b = make_copper_board(s, two_tracks());
  ASSERT_FALSE(b);
  EXPECT_EQ(b.problem().code, "SIM-040");
}

TEST(Board, WithoutCopperIsRefused) {
  const auto b = make_copper_board(scenario(), design({layer({})}));
  ASSERT_FALSE(b);
  EXPECT_EQ(b.problem().code, "SIM-043");
}

TEST(Painting, FollowsTheOrderOfDarkAndClear) {
  const auto cut = design({layer({region(box(0, 0, 10, 1)), region(box(4, -1, 6, 2), false)})});
  const auto mended = design({layer(
      {region(box(0, 0, 10, 1)), region(box(4, -1, 6, 2), false), region(box(3, 0.4, 7, 0.6))})});
  const CopperBoard a = make_copper_board(scenario(), cut).value(),
                    b = make_copper_board(scenario(), mended).value();
  EXPECT_FALSE(connected(a, node_at(a, 1, 0.5), node_at(a, 9, 0.5)));
  EXPECT_TRUE(connected(b, node_at(b, 1, 0.5), node_at(b, 9, 0.5)));
}

TEST(Painting, JoinsRegionsThatAbut) {
  for (const double x : {5.0, 5.003, 5.0101, 5.017}) {
    const auto d = design({layer({region(box(0, 0, x, 0.2)), region(box(x, 0, 10, 0.2))})});
    const CopperBoard b = make_copper_board(scenario(), d).value();
    EXPECT_TRUE(connected(b, node_at(b, 1, 0.1), node_at(b, 9, 0.1))) << x;
  }
}

// A pad of 2 mm on each side with a hole of 1 mm between, and a track from each to its own end.
formats::Design two_sided(Stage stage) {
  const std::vector<formats::Object> top{region(box(4, 4, 6, 6)), region(box(0, 4.9, 5, 5.1))};
  const std::vector<formats::Object> bottom{region(box(4, 4, 6, 6)), region(box(5, 4.9, 10, 5.1))};
  formats::Design d = design({layer(top), layer(bottom)});
  d.board.stage = stage;
  d.holes.push_back({position_mm(5, 5), position_mm(5, 5), 1_mm, true, std::nullopt, -1, 0});
  return d;
}

bool through(const CopperBoard& b) {
  return connected(b, node_at(b, 0.5, 5, 0), node_at(b, 9.5, 5, 1));
}

TEST(Joins, ConductFromTheStageJoinedOn) {
  EXPECT_FALSE(through(make_copper_board(scenario(), two_sided(Stage::etched)).value()));
  EXPECT_TRUE(through(make_copper_board(scenario(), two_sided(Stage::joined)).value()));
  EXPECT_TRUE(through(make_copper_board(scenario(), two_sided(Stage::finished)).value()));
}

TEST(Joins, FollowTheListOfTheBoard) {
  formats::Design d = two_sided(Stage::joined);
  d.board.joins_mode = formats::JoinsMode::none;
  EXPECT_FALSE(through(make_copper_board(scenario(), d).value()));
  d.board.joins_mode = formats::JoinsMode::listed;
  EXPECT_FALSE(through(make_copper_board(scenario(), d).value()));
  d.board.joins = {{position_mm(5, 5), formats::JoinKind::wire, false}};
  EXPECT_TRUE(through(make_copper_board(scenario(), d).value()));
  d.board.joins[0].deferred = true;
  EXPECT_FALSE(through(make_copper_board(scenario(), d).value()));
}

TEST(Joins, AreMissingWhereANoJoinSays) {
  Defect d = defect(DefectKind::no_join, {5, 5});
  d.side.reset();
  EXPECT_FALSE(through(make_with(d, two_sided(Stage::joined))));
  d.side = "bottom";
  const CopperBoard b = make_with(d, two_sided(Stage::joined));
  EXPECT_FALSE(through(b));
  EXPECT_GE(b.holes[0].metal[0], 0);
  EXPECT_LT(b.holes[0].metal[1], 0);
}

TEST(Joins, ThatAreNotThereCannotBeTakenAway) {
  Scenario s = scenario();
  s.defects.push_back(defect(DefectKind::no_join, {8, 8}));
  const auto b = make_copper_board(s, two_sided(Stage::joined));
  ASSERT_FALSE(b);
  EXPECT_EQ(b.problem().code, "SIM-041");
}

TEST(Stages, LeaveOutTheSideNotYetEtched) {
  const CopperBoard b = make_copper_board(scenario(), two_sided(Stage::etched_top)).value();
  EXPECT_FALSE(nearest_node(b, 1, position_mm(8, 5), 1e5));
  EXPECT_TRUE(nearest_node(b, 0, position_mm(2, 5), 1e5));
}

TEST(Links, ConnectTheirEnds) {
  formats::Design d = two_tracks();
  d.board.links = {{position_mm(3, 0.1), position_mm(15, 0.5), Side::top}};
  const CopperBoard etched = make_copper_board(scenario(), d).value();
  EXPECT_FALSE(connected(etched, node_at(etched, 1, 0.1), node_at(etched, 1, 0.5)));
  d.board.stage = Stage::joined;
  const CopperBoard b = make_copper_board(scenario(), d).value();
  EXPECT_TRUE(connected(b, node_at(b, 1, 0.1), node_at(b, 1, 0.5)));
}

TEST(Tips, TouchCopperOrTheHoleTheyFallInto) {
  const CopperBoard etched = make_copper_board(scenario(), two_sided(Stage::etched)).value();
  const auto top = touched_node(etched, 0, position_mm(5, 5)),
             bottom = touched_node(etched, 1, position_mm(5, 5));
  ASSERT_TRUE(top && bottom);
  EXPECT_TRUE(connected(etched, *top, node_at(etched, 0.5, 5, 0)));
  EXPECT_TRUE(connected(etched, *bottom, node_at(etched, 9.5, 5, 1)));
  EXPECT_FALSE(touched_node(etched, 0, position_mm(8, 5)));
  const CopperBoard joined = make_copper_board(scenario(), two_sided(Stage::joined)).value();
  EXPECT_EQ(touched_node(joined, 0, position_mm(5, 5)), joined.holes[0].metal[0]);
}

TEST(Boards, OfOneSeedAreTheSame) {
  Scenario s = scenario();
  s.copper = {0.1, 0.05, 15, 10, 23};
  s.seed = 5;
  CopperBoard a = make_copper_board(s, two_tracks()).value(),
              again = make_copper_board(s, two_tracks()).value();
  s.seed = 6;
  CopperBoard b = make_copper_board(s, two_tracks()).value();
  const auto r = [](CopperBoard& board) {
    return ohm_between(board, node_at(board, 1, 0.1), node_at(board, 19, 0.1));
  };
  EXPECT_EQ(r(a), r(again));
  EXPECT_NE(r(a), r(b));
}

}  // namespace
}  // namespace isthmus::hostsim
