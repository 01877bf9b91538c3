// SPDX-License-Identifier: Apache-2.0
// The copper's network against closed forms of sheet resistance. All are four-terminal: current
// enters and leaves far from where the voltage is taken, so that the size of the contacts does not
// matter.
#include <gtest/gtest.h>

#include <cmath>

#include "tests/hostsim/drawn.hpp"

namespace isthmus::hostsim {
namespace {

using namespace test;

CopperBoard make(const formats::Design& d, double cell_um = 20) {
  return make_copper_board(scenario(cell_um), d).value();
}

CopperBoard make_shape(const Contour& c, double cell_um = 20) {
  return make(design({layer({region(c)})}), cell_um);
}

// A rectangle between full ends: length / width squares.
TEST(SheetResistance, OfAStripIsLengthOverWidth) {
  CopperBoard b = make_shape(box(0, 0, 20, 1));
  const double r = transfer_ohm(b, node_at(b, 0.1, 0.5), node_at(b, 19.9, 0.5),
                                node_at(b, 4.01, 0.5), node_at(b, 16.01, 0.5));
  EXPECT_NEAR(r / kSheetOhm, 12, 0.01);
}

TEST(SheetResistance, OfAFineTrackIsLengthOverWidth) {
  CopperBoard b = make_shape(box(0, 0, 20, 0.2));
  const double r = transfer_ohm(b, node_at(b, 0.1, 0.1), node_at(b, 19.9, 0.1),
                                node_at(b, 4.01, 0.1), node_at(b, 16.01, 0.1));
  EXPECT_NEAR(r / kSheetOhm, 60, 0.05);
}

// The cells do not follow a slope: at 45 degrees a track of ten cells is fourteen
// diagonals, and current can use all but one.
TEST(SheetResistance, OfASlopingTrackIsCloseToLengthOverWidth) {
  for (const double degrees : {10.0, 30.0, 45.0}) {
    const double a = degrees * M_PI / 180, w = 0.1, l = 20;
    const Spot u{std::cos(a), std::sin(a)}, v{-std::sin(a) * w, std::cos(a) * w};
    CopperBoard b = make_shape(contour({{v.x, v.y},
                                        {-v.x, -v.y},
                                        {l * u.x - v.x, l * u.y - v.y},
                                        {l * u.x + v.x, l * u.y + v.y}}));
    const double r =
        transfer_ohm(b, node_at(b, 0.2 * u.x, 0.2 * u.y), node_at(b, 19.8 * u.x, 19.8 * u.y),
                     node_at(b, 4 * u.x, 4 * u.y), node_at(b, 16 * u.x, 16 * u.y));
    EXPECT_NEAR(r / kSheetOhm, 60, 60.0 / 13 + 0.2) << degrees;
  }
}

// Corner of an equal-width bend: 1 - (2/pi) ln 2 = 0.558729 squares (conformal mapping).
TEST(SheetResistance, OfABendHasTheConformalCorner) {
  CopperBoard b = make_shape(contour({{0, 0}, {10, 0}, {10, 1}, {1, 1}, {1, 10}, {0, 10}}));
  const Node x = node_at(b, 6, 0.5), y = node_at(b, 0.5, 6);
  const double r = transfer_ohm(b, node_at(b, 9.9, 0.5), node_at(b, 0.5, 9.9), x, y);
  const double arms = x_mm(b, x) - 1 + y_mm(b, y) - 1;
  EXPECT_NEAR(r / kSheetOhm, arms + 1 - 2 / M_PI * std::log(2.0), 0.006);
}

// One-sided step to half the width adds 0.249832585631 squares (conformal mapping).
TEST(SheetResistance, OfAWidthStepAddsTheConformalStep) {
  CopperBoard b = make_shape(contour({{0, 0}, {20, 0}, {20, 1}, {10, 1}, {10, 2}, {0, 2}}));
  const double r = transfer_ohm(b, node_at(b, 0.1, 1), node_at(b, 19.9, 0.5), node_at(b, 4, 1.01),
                                node_at(b, 16.01, 0.5));
  EXPECT_NEAR(r / kSheetOhm, 6 / 2.0 + 6 / 1.0 + 0.249832585631, 0.03);
}

// Collinear points s apart in the middle of a disc of diameter d (Vaughan 1961):
// V / I = (ln 2 + ln((d/s)^2 + 3) / ((d/s)^2 - 3)) / pi. The squares are 0.12 mm here: s is ten of
// them.
TEST(SheetResistance, OfFourPointsOnADiscIsVaughansFormula) {
  std::vector<Spot> rim;
  for (int i = 0; i < 360; ++i)
    rim.push_back({10 * std::cos(i * M_PI / 180), 10 * std::sin(i * M_PI / 180)});
  CopperBoard b = make_shape(contour(rim));
  const auto at = [&](double x) { return node_at(b, x, 0.01); };
  const double ratio2 = std::pow(20 / 1.2, 2);
  const double expected = (std::log(2.0) + std::log((ratio2 + 3) / (ratio2 - 3))) / M_PI;
  EXPECT_NEAR(transfer_ohm(b, at(-1.79), at(1.81), at(-0.59), at(0.61)) / kSheetOhm, expected,
              0.01 * expected);
}

// Van der Pauw (1958): a square with contacts at its corners, ln 2 / pi.
TEST(SheetResistance, OfASquareFromItsCornersIsLnTwoOverPi) {
  CopperBoard b = make_shape(box(0, 0, 4, 4));
  const double r = transfer_ohm(b, node_at(b, 0.01, 0.01), node_at(b, 3.99, 0.01),
                                node_at(b, 0.01, 3.99), node_at(b, 3.99, 3.99));
  EXPECT_NEAR(r / kSheetOhm, std::log(2.0) / M_PI, 0.003);
}

// Reciprocity: R(ab,cd) = R(cd,ab) for any shape, holes and joins included.
TEST(SheetResistance, IsReciprocal) {
  Polygon ring{box(0, 0, 6, 4), {box(2, 1, 4, 3)}};
  CopperBoard b = make(design({layer({region({ring})})}));
  const Node p = node_at(b, 0.3, 0.3), q = node_at(b, 5.5, 0.4), r = node_at(b, 1, 3.7),
             s = node_at(b, 5.2, 3.3);
  EXPECT_NEAR(transfer_ohm(b, p, q, r, s), transfer_ohm(b, r, s, p, q), 1e-12);
}

// Removing copper never lowers a two-terminal resistance (Rayleigh).
TEST(SheetResistance, RisesWhenCopperIsRemoved) {
  CopperBoard whole = make_shape(box(0, 0, 10, 2));
  CopperBoard cut =
      make(design({layer({region(box(0, 0, 10, 2)), region(box(5, 0, 5.2, 1.5), false)})}));
  EXPECT_GT(ohm_between(cut, node_at(cut, 1, 1), node_at(cut, 9, 1)),
            ohm_between(whole, node_at(whole, 1, 1), node_at(whole, 9, 1)));
}

// IEC 60028: 0.00393 per kelvin at 20 degC.
TEST(SheetResistance, GrowsWithTemperature) {
  Scenario s = scenario();
  s.copper.temperature_c = 70;
  const auto d = design({layer({region(box(0, 0, 20, 1))})});
  CopperBoard warm = make_copper_board(s, d).value(), cool = make(d);
  const double ratio = ohm_between(warm, node_at(warm, 1, 0.5), node_at(warm, 19, 0.5)) /
                       ohm_between(cool, node_at(cool, 1, 0.5), node_at(cool, 19, 0.5));
  EXPECT_NEAR(ratio, 1 + 50 * 0.00393, 1e-9);
}

// A strip drawn at 1.0 mm and undercut by 100 um on each side is 0.8 mm wide.
TEST(Undercut, NarrowsBothEdges) {
  Scenario s = scenario();
  s.copper.undercut_um = 100;
  CopperBoard b = make_copper_board(s, design({layer({region(box(0, 0, 20, 1))})})).value();
  const double r = transfer_ohm(b, node_at(b, 0.3, 0.5), node_at(b, 19.7, 0.5),
                                node_at(b, 4.01, 0.5), node_at(b, 16.01, 0.5));
  EXPECT_NEAR(r / kSheetOhm, 12 / 0.8, 0.02);
}

// Fifty tracks at every phase against the cells: the undercut is right on average.
TEST(Undercut, IsUnbiasedAcrossTheCells) {
  Scenario s = scenario();
  s.copper.undercut_um = 15;
  std::vector<formats::Object> tracks;
  for (int i = 0; i < 50; ++i) tracks.push_back(region(box(0, i * 0.5037, 2, i * 0.5037 + 0.2)));
  const CopperBoard b = make_copper_board(s, design({layer(tracks)})).value();
  double area_mm2 = 0;
  for (const MeshNode& n : b.nodes) area_mm2 += n.cells * 0.02 * 0.02;
  EXPECT_NEAR(area_mm2, 50 * 1.97 * 0.17, 0.02 * 50 * 1.97 * 0.17);
}

// Drawn from the seed: 35 um (1 +- 10 %), at most two deviations.
TEST(Thickness, IsDrawnFromTheSeed) {
  CopperDraw draw;
  draw.thickness_spread = 0.1;
  const CopperField a = draw_copper(draw, 35_um, 1), again = draw_copper(draw, 35_um, 1),
                    b = draw_copper(draw, 35_um, 2);
  EXPECT_EQ(a.thickness_nm, again.thickness_nm);
  EXPECT_NE(a.thickness_nm, b.thickness_nm);
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    EXPECT_NEAR(draw_copper(draw, 35_um, seed).thickness_nm, 35000, 7000.1);
  }
}

}  // namespace
}  // namespace isthmus::hostsim
