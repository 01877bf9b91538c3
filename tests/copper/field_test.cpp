// SPDX-License-Identifier: Apache-2.0
// Closed forms are those of conformal mapping for sheets with long arms or equipotential ends
// (Hall, "Resistance calculations for thin film patterns", Thin Solid Films 1 (1968) 277, gives the
// same family), in squares. An end electrode is a disc so large that its rim is straight across the
// arm.
#include "isthmus/copper/field.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "tests/copper/copper_shapes.hpp"

namespace isthmus::copper {
namespace {

using namespace test;
using std::numbers::pi;

constexpr Foil kPlain{35_um, 0_nm, {20}};
const Ohms kSheet = sheet_resistance(kPlain);

// Everything turned by `degrees`; lengths in mm.
class Sheet : public testing::TestWithParam<double> {
 protected:
  Electrode at(double x, double y, double diameter, unsigned on = 0) const {
    const auto [tx, ty] = turned({{x, y}}, GetParam())[0];
    return {IslandId{on}, position_mm(tx, ty), from_mm(diameter)};
  }
  // A straight electrode through (x, y) that faces the copper in direction (-dx, -dy).
  Electrode end(double x, double y, double dx, double dy, unsigned on = 0) const {
    constexpr double kRadius = 30;
    return at(x + kRadius * dx, y + kRadius * dy, 2 * kRadius, on);
  }
  Polygon shape(const Mm& outer, const std::vector<Mm>& holes = {}) const {
    std::vector<Mm> h;
    for (const Mm& hole : holes) h.push_back(turned(hole, GetParam()));
    return polygon(turned(outer, GetParam()), h);
  }
  double squares(const Polygon& p, const Electrode& a, const Electrode& b) const {
    const Copper copper = copper_of({p});
    return Field(copper, {}, kPlain).between(a, b).value().ohms.value / kSheet.value;
  }
};
INSTANTIATE_TEST_SUITE_P(Turned, Sheet, testing::Values(0.0, 45.0, 17.0, 90.0));

TEST_P(Sheet, AStripIsLengthOverWidth) {
  EXPECT_NEAR(squares(shape(rectangle(0, 0, 12, 0.25)), end(1, 0.125, -1, 0), end(11, 0.125, 1, 0)),
              40, 0.08);
}

TEST_P(Sheet, ABendIsTheLHexagon) {
  const double u = 0.3;  // arms of two widths from the inner corner: 4.55872841593535
  const Polygon p = shape({{0, 0}, {4 * u, 0}, {4 * u, u}, {u, u}, {u, 4 * u}, {0, 4 * u}});
  EXPECT_NEAR(squares(p, end(3 * u, u / 2, 1, 0), end(u / 2, 3 * u, 0, 1)), 4.55872841593535,
              0.0091);
}

TEST_P(Sheet, AShortBendIsAQuarterOfSquareInSquare) {
  const double u = 0.3;  // arms of one width: 2.55852314234201 = 1 / (4 * 0.0977126201685070)
  const Polygon p = shape({{0, 0}, {3 * u, 0}, {3 * u, u}, {u, u}, {u, 3 * u}, {0, 3 * u}});
  EXPECT_NEAR(squares(p, end(2 * u, u / 2, 1, 0), end(u / 2, 2 * u, 0, 1)), 2.55852314234201,
              0.0051);
}

TEST_P(Sheet, ASymmetricStepAddsAnEighth) {
  const double w = 0.6;  // narrow / wide = 1/2: 0.124916292816
  const Polygon p = shape(
      {{0, 0}, {3, 0}, {3, w / 4}, {6, w / 4}, {6, 3 * w / 4}, {3, 3 * w / 4}, {3, w}, {0, w}});
  const double exact = 2 / w + 2 / (w / 2) + 0.124916292816;
  EXPECT_NEAR(squares(p, end(1, w / 2, -1, 0), end(5, w / 2, 1, 0)), exact, 0.002 * exact);
}

TEST_P(Sheet, ATeeLosesInTheMainAndGainsInTheBranch) {
  const double w = 0.3;  // equal widths: main arms -0.0765548192290 each, branch +0.1100460343590
  const Polygon p =
      shape({{-2, 0}, {2, 0}, {2, w}, {w / 2, w}, {w / 2, 2}, {-w / 2, 2}, {-w / 2, w}, {-2, w}});
  const double through = 2 * (1.5 / w - 0.0765548192290);
  EXPECT_NEAR(squares(p, end(-1.5, w / 2, -1, 0), end(1.5, w / 2, 1, 0)), through, 0.002 * through);
  const double around = 1.5 / w - 0.0765548192290 + (1.5 - w) / w + 0.1100460343590;
  EXPECT_NEAR(squares(p, end(-1.5, w / 2, -1, 0), end(0, 1.5, 0, 1)), around, 0.002 * around);
}

TEST_P(Sheet, TwoSmallDiscsInAStrip) {
  // (1/pi) [ln sinh(pi D/W) - ln(pi a/W)] at a/W = 0.05, D = 5 W: 5.368556759
  const double w = 2;
  EXPECT_NEAR(
      squares(shape(rectangle(-10, 0, 20, w)), at(0, w / 2, 0.1 * w), at(5 * w, w / 2, 0.1 * w)),
      5.368556759, 0.0536);
}

TEST_P(Sheet, TwoDiscsInAWideSheet) {
  // Infinite sheet: arccosh((d^2 - a1^2 - a2^2) / (2 a1 a2)) / (2 pi); 1, 2 and 10: 0.614383630925.
  // A round sheet of radius b mirrors each disc at b^2 / (d/2), which adds (2 ln(1 + (d/2b)^2) - 2
  // ln(1 - (d/2b)^2)) / (2 pi) to first order in a / d.
  const double d = 5, b = 15, q = d * d / (4 * b * b);
  for (const auto& [a1, a2] : {std::pair{0.5, 0.5}, {0.5, 1.0}}) {
    const double exact = std::acosh((d * d - a1 * a1 - a2 * a2) / (2 * a1 * a2)) / (2 * pi) +
                         std::log((1 + q) / (1 - q)) / pi;
    EXPECT_NEAR(squares(shape(circle(0, 0, b)), at(-d / 2, 0, 2 * a1), at(d / 2, 0, 2 * a2)), exact,
                0.01 * exact)
        << a2;
  }
}

TEST_P(Sheet, ARoundHoleInAStrip) {
  // Added squares by radius over width: finite differences, independent of this program; towards
  // small holes 2 pi (a / W)^2.
  const double w = 0.4;
  for (const auto& [a, added] : {std::pair{0.1, 0.0650}, {0.2, 0.2899}, {0.3, 0.8067}}) {
    const Polygon p = shape(rectangle(0, 0, 6 * w, w), {circle(3 * w, w / 2, a * w)});
    EXPECT_NEAR(squares(p, end(w, w / 2, -1, 0), end(5 * w, w / 2, 1, 0)), 4 + added,
                0.002 * (4 + added))
        << a;
  }
}

TEST_P(Sheet, ACrackThinnerThanTheGridAddsWhatItShould) {
  // Edge slit of half the width: (4/pi) ln sec(pi/4) = 0.441271
  const double w = 0.6;
  const Polygon p = shape({{0, 0}, {1.999, 0}, {2, w / 2}, {2.001, 0}, {4, 0}, {4, w}, {0, w}});
  const double exact = 3 / w + 0.441271;
  EXPECT_NEAR(squares(p, end(0.5, w / 2, -1, 0), end(3.5, w / 2, 1, 0)), exact, 0.01 * exact);
}

TEST_P(Sheet, FourTipsInLineReadLn2OverPi) {
  // Collinear, equally spaced, infinite sheet: V / I = ln 2 / pi.
  const Copper copper = copper_of({shape(rectangle(-30, -30, 30, 30))});
  Field field(copper, {}, kPlain);
  const std::array<Electrode, 2> inner{at(-0.5, 0, 0.05), at(0.5, 0, 0.05)};
  const auto v = field.transfer(at(-1.5, 0, 0.05), at(1.5, 0, 0.05), inner);
  EXPECT_NEAR((v[0] - v[1]) / kSheet.value, std::numbers::ln2 / pi, 0.01 * std::numbers::ln2 / pi);
}

TEST_P(Sheet, ReciprocityHoldsWithHoles) {
  const Copper copper =
      copper_of({shape(rectangle(0, 0, 4, 3), {rectangle(1, 1, 1.8, 2.2), circle(3, 1, 0.4)})});
  Field field(copper, {}, kPlain);
  // Tips within single arcs: what is sensed is then what would be fed.
  const Electrode a = at(0.3, 0.3, 0.02), b = at(3.6, 2.7, 0.02), c = at(0.4, 2.6, 0.02),
                  d = at(3.7, 0.3, 0.02);
  const auto ab = field.transfer(a, b, std::array{c, d}),
             cd = field.transfer(c, d, std::array{a, b});
  EXPECT_NEAR(ab[0] - ab[1], cd[0] - cd[1], 1e-3 * std::abs(ab[0] - ab[1]) + 1e-7);
}

TEST_P(Sheet, AddingCopperNeverRaisesTheResistance) {
  double last = INFINITY;
  for (const double hole : {0.9, 0.7, 0.4, 0.1}) {
    const double r = squares(shape(rectangle(0, 0, 6, 2), {rectangle(2, 1 - hole, 4, 1 + hole)}),
                             at(0.5, 1, 0.5), at(5.5, 1, 0.5));
    EXPECT_LT(r, last) << hole;
    last = r;
  }
}

TEST_P(Sheet, AMeanderTighterThanTheGridStaysAMeander) {
  // Three legs with slots of 5 um between them; cells are 25 um. A turn round a thin slot that ends
  // one width before the wall: t = cosh(pi z / w) gives 2x/w - (2/pi) ln((cosh pi - 1) / 2), x from
  // the wall (derived here); each disc of radius w/4 in a strip adds (1 / 2 pi) ln(w / (2 pi a)) to
  // first order.
  const double w = 0.15, g = 0.005, l = 4, s = w + g;
  const Polygon p = shape({{0, 0},
                           {l, 0},
                           {l, s + w},
                           {w, s + w},
                           {w, 2 * s},
                           {l, 2 * s},
                           {l, 2 * s + w},
                           {0, 2 * s + w},
                           {0, s},
                           {l - w, s},
                           {l - w, w},
                           {0, w}});
  const double turn = -2 / pi * std::log((std::cosh(pi) - 1) / 2),
               disc = std::log(2 / pi) / (2 * pi);
  const double exact = (3 * l - 0.6) / w + 2 * turn + 2 * disc;
  EXPECT_NEAR(squares(p, at(0.3, w / 2, w / 2), at(l - 0.3, 2 * s + w / 2, w / 2)), exact,
              0.01 * exact);
}

TEST_P(Sheet, ABarrelAddsItsOhmsBetweenTheSides) {
  Copper copper = copper_of({shape(rectangle(0, 0, 5, 0.5)), shape(rectangle(4, 0, 9, 0.5))});
  copper.layers = 2;
  copper.islands[1].layer = LayerId{1};
  const Electrode hole = at(4.5, 0.25, 0.3), left = at(0.5, 0.25, 0.3),
                  right = at(8.5, 0.25, 0.3, 1);
  const Barrel barrel{
      {{IslandId{0}, hole.at, hole.diameter}, {IslandId{1}, hole.at, hole.diameter}}, {0.010}};
  Field joined(copper, {barrel}, kPlain), apart(copper, {}, kPlain);
  EXPECT_FALSE(apart.between(left, right).has_value());
  const double one = apart.between(left, hole)->ohms.value;
  EXPECT_NEAR(joined.between(left, right)->ohms.value, 2 * one + 0.020, 0.01 * one);
}

TEST(FieldSheet, ResistanceIsThatOfAnnealedCopper) {
  // IEC 60028: 1.7241e-8 ohm m at 20 degC, 0.00393 / K.
  EXPECT_NEAR(sheet_resistance({35_um, 15_um, {20}}).value, 0.4926e-3, 1e-7);
  EXPECT_NEAR(sheet_resistance({70_um, 15_um, {20}}).value, 0.2463e-3, 1e-7);
  EXPECT_NEAR(sheet_resistance({35_um, 15_um, {30}}).value, 0.4926e-3 * 1.0393, 1e-7);
}

TEST(FieldUndercut, NarrowsEverySide) {
  const Copper copper = copper_of({polygon(rectangle(0, 0, 12, 0.2))});
  const Electrode a{IslandId{0}, position_mm(-29, 0.1), 60_mm},
      b{IslandId{0}, position_mm(41, 0.1), 60_mm};
  const Predicted p = Field(copper, {}, {35_um, 15_um, {20}}).between(a, b).value();
  EXPECT_NEAR(p.ohms.value / kSheet.value, 10 / 0.17, 0.3);
  // 20 % of thickness, and 10 um a side of 170 um.
  EXPECT_NEAR(p.uncertainty.value / p.ohms.value, std::hypot(0.2, 20.0 / 170), 0.01);
}

TEST(FieldUndercut, CopperItWouldTakeApartStaysAndTheDoubtGrows) {
  const Polygon necked = polygon({{0, 0},
                                  {2, 0},
                                  {2, 0.09},
                                  {3, 0.09},
                                  {3, 0},
                                  {5, 0},
                                  {5, 0.2},
                                  {3, 0.2},
                                  {3, 0.11},
                                  {2, 0.11},
                                  {2, 0.2},
                                  {0, 0.2}});
  const Copper copper = copper_of({necked});
  const Electrode a{IslandId{0}, position_mm(0.3, 0.1), 200_um},
      b{IslandId{0}, position_mm(4.7, 0.1), 200_um};
  const Predicted p = Field(copper, {}, {35_um, 15_um, {20}}).between(a, b).value();
  EXPECT_GT(p.ohms.value / kSheet.value, 50);  // the neck alone
  EXPECT_GT(p.uncertainty.value, p.ohms.value);
}

TEST(Field, AnswersDoNotDependOnTheOrderOfQuestions) {
  const Copper copper = copper_of({polygon(rectangle(0, 0, 5, 3), {circle(2, 1, 0.6)})});
  const auto tip = [](double x, double y) {
    return Electrode{IslandId{0}, position_mm(x, y), 300_um};
  };
  Field first(copper, {}, kPlain), second(copper, {}, kPlain);
  const double direct = first.between(tip(0.5, 0.5), tip(4, 2))->ohms.value;
  for (double x = 0.5; x < 4.6; x += 0.5) ASSERT_TRUE(second.between(tip(x, 2.5), tip(0.4, 0.4)));
  EXPECT_EQ(second.between(tip(4, 2), tip(0.5, 0.5))->ohms.value, direct);
  EXPECT_EQ(second.between(tip(4, 2), tip(4, 2))->ohms.value, 0);
}

TEST(Field, SaysNothingAboutCopperThatDoesNotHangTogether) {
  const Copper copper = copper_of({polygon(rectangle(0, 0, 1, 1)), polygon(rectangle(2, 0, 3, 1))});
  Field field(copper, {}, kPlain);
  const Electrode a{IslandId{0}, position_mm(0.3, 0.5), 200_um},
      c{IslandId{0}, position_mm(0.8, 0.5), 200_um};
  const Electrode b{IslandId{1}, position_mm(2.5, 0.5), 200_um},
      off{IslandId{0}, position_mm(9, 9), 200_um};
  EXPECT_FALSE(field.between(a, b).has_value());
  EXPECT_FALSE(field.between(a, off).has_value());
  EXPECT_TRUE(std::isnan(field.transfer(a, c, std::array{b})[0]));
  EXPECT_NEAR(field.transfer(a, c, std::array{c})[0], 0, 1e-12);
}

TEST(Field, ATipInAHoleRestsOnTheCopperRoundIt) {
  const Copper copper = copper_of({polygon(rectangle(-1, -1, 9, 1), {circle(0, 0, 0.5)})});
  const Electrode hole{IslandId{0}, position_mm(0, 0), 500_um},
      beside{IslandId{0}, position_mm(0.7, 0), 300_um};
  const Electrode end{IslandId{0}, position_mm(8, 0), 500_um};
  Field field(copper, {}, kPlain);
  EXPECT_NEAR(field.between(hole, end)->ohms.value, field.between(beside, end)->ohms.value,
              0.8 * kSheet.value);
}

TEST(Field, APadWhollyUnderTheTipIsOneNode) {
  const Copper copper = copper_of({polygon(circle(0, 0, 0.2))});
  const Electrode a{IslandId{0}, position_mm(0, 0), 1_mm},
      b{IslandId{0}, position_mm(0.05, 0), 1_mm};
  EXPECT_NEAR(Field(copper, {}, kPlain).between(a, b)->ohms.value, 0, 1e-9);
}

}  // namespace
}  // namespace isthmus::copper
