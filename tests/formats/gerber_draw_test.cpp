// SPDX-License-Identifier: Apache-2.0
// Strokes, flashes, arcs and regions. Areas are closed forms of plane geometry.
#include "tests/formats/gerber_support.hpp"

namespace isthmus::formats {
namespace {

constexpr double kPi = std::numbers::pi;

TEST(GerberStroke, OfARoundPenIsACapsuleWithItsSpine) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.5*%D10*X1000000Y2000000D02*X4000000Y6000000D01*"));
  ASSERT_EQ(image.objects.size(), 1u);
  const Object& stroke = image.objects[0];
  EXPECT_EQ(stroke.kind, ObjectKind::stroke);
  EXPECT_TRUE(stroke.round && stroke.dark);
  EXPECT_EQ(stroke.width, 500_um);
  EXPECT_EQ(stroke.spine, (std::vector{position_mm(1, 2), position_mm(4, 6)}));
  EXPECT_NEAR(area_mm2(stroke), 5 * 0.5 + disc_mm2(0.5), slack(kPi * 0.5));
  EXPECT_EQ(stroke.line, 3);
}

TEST(GerberStroke, HasItsExactWidthOnAxisParallelLines) {
  const LayerImage image = image_of(mm_file("%ADD10C,0.5*%D10*X0Y0D02*X4000000Y0D01*"));
  EXPECT_EQ(image.extent, (Box{position_mm(-0.25, -0.25), position_mm(4.25, 0.25)}));
}

TEST(GerberStroke, OfNoLengthIsADisc) {
  const LayerImage image = image_of(mm_file("%ADD10C,2*%D10*X0Y0D02*X0Y0D01*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), disc_mm2(2), slack(2 * kPi));
  EXPECT_EQ(image.objects[0].spine.size(), 2u);
}

TEST(GerberStroke, OfAZeroPenKeepsItsSpineButHasNoImage) {
  const LayerImage image = image_of(mm_file("%ADD10C,0*%D10*X0Y0D02*X1000000Y0D01*"));
  ASSERT_EQ(image.objects.size(), 1u);
  EXPECT_TRUE(image.objects[0].shape.empty());
  EXPECT_EQ(image.objects[0].spine.size(), 2u);
  EXPECT_TRUE(image.extent.empty());
}

// The hull of a rectangle a x b moved by (dx, dy): a b + a |dy| + b |dx|.
TEST(GerberStroke, OfARectangularPenIsItsHull) {
  const LayerImage image = image_of(mm_file("%ADD10R,0.6X0.2*%D10*X0Y0D02*X3000000Y4000000D01*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), 0.6 * 0.2 + 0.6 * 4 + 0.2 * 3, 1e-6);
  EXPECT_FALSE(image.objects[0].round);
  // Across the direction (3, 4) / 5 the pen is 0.6 * 0.8 + 0.2 * 0.6 wide.
  EXPECT_NEAR(to_mm(image.objects[0].width), 0.6, 1e-6);
}

// Once the pen has left its own hole behind, nothing of the hole is left but where both ends see
// it.
TEST(GerberStroke, OfAPenWithAHoleCoversTheHoleOnItsWay) {
  const Noted n = noted(mm_file("%ADD10C,1X0.4*%D10*X0Y0D02*X3000000Y1000000D01*"));
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-045"});
  EXPECT_NEAR(area_mm2(n.image.objects[0]), std::sqrt(10.0) + disc_mm2(1),
              slack(kPi + 2 * std::sqrt(10.0)));
}

// A disc of radius r moved by s < 2 r inside a larger pen leaves the lens of two circles open:
// 2 r^2 acos(s / 2r) - s/2 sqrt(4 r^2 - s^2).
TEST(GerberStroke, ShorterThanItsPensHoleLeavesTheLensOpen) {
  const Noted n = noted(mm_file("%ADD10C,1X0.4*%D10*X0Y0D02*X100000Y0D01*"));
  const double r = 0.2, s = 0.1;
  const double lens = 2 * r * r * std::acos(s / (2 * r)) - s / 2 * std::sqrt(4 * r * r - s * s);
  EXPECT_NEAR(area_mm2(n.image.objects[0]), 0.1 + disc_mm2(1) - lens, slack(kPi * 1.4));
}

TEST(GerberStroke, OfANonConvexPenAlongAnArcIsCombined) {
  const Noted n =
      noted(mm_file("%ADD10C,1.905X1.27*%G75*D10*X0Y2540000D02*G03X0Y7620000I0J2540000D01*"));
  // Half a turn of radius 2.54: the outer edge is that of a solid pen. Near the two ends the hole
  // stays partly open; a whole hole more or less bounds it.
  const double solid = kPi * 2.54 * 1.905 + disc_mm2(1.905);
  EXPECT_LT(area_mm2(n.image.objects[0]), solid + slack(12));
  EXPECT_GT(area_mm2(n.image.objects[0]), solid - 2 * disc_mm2(1.27));
}

TEST(GerberFlash, OfEveryStandardShapeHasItsArea) {
  const LayerImage image = image_of(
      mm_file("%ADD10C,2*%%ADD11R,2X1*%%ADD12O,3X1*%%ADD13O,1X3*%%ADD14P,2X6*%%ADD15P,2X4X45*%"
              "D10*X0Y0D03*D11*X0Y0D03*D12*X0Y0D03*D13*X0Y0D03*D14*X0Y0D03*D15*X0Y0D03*"));
  ASSERT_EQ(image.objects.size(), 6u);
  EXPECT_NEAR(area_mm2(image.objects[0]), kPi, slack(2 * kPi));
  EXPECT_NEAR(area_mm2(image.objects[1]), 2, 1e-9);
  EXPECT_NEAR(area_mm2(image.objects[2]), 2 + kPi / 4, slack(kPi));
  EXPECT_NEAR(area_mm2(image.objects[3]), 2 + kPi / 4, slack(kPi));
  // Regular hexagon of circumradius 1: 3 sqrt(3) / 2; square of circumradius 1: 2.
  EXPECT_NEAR(area_mm2(image.objects[4]), 1.5 * std::sqrt(3.0), 1e-5);
  EXPECT_NEAR(area_mm2(image.objects[5]), 2, 1e-5);
  EXPECT_EQ(box_of(image.objects[5].shape[0].outer).hi.x, std::llround(std::sqrt(0.5) * 1e6));
}

TEST(GerberFlash, TellsPlaceWidthAndRoundness) {
  const LayerImage image = image_of(
      mm_file("%ADD10C,2*%%ADD11R,2X1*%%ADD12C,2X0.5*%D10*X5000000Y0D03*D11*Y1000000D03*D12*D03*"));
  EXPECT_EQ(image.objects[0].spine, std::vector{position_mm(5, 0)});
  EXPECT_EQ(image.objects[0].width, 2_mm);
  EXPECT_TRUE(image.objects[0].round);
  EXPECT_EQ(image.objects[1].spine, std::vector{position_mm(5, 1)});
  EXPECT_EQ(image.objects[1].width, 1_mm);
  EXPECT_FALSE(image.objects[1].round);
  EXPECT_FALSE(image.objects[2].round) << "a ring is no plain circle";
}

TEST(GerberFlash, OfAnApertureWithAHoleIsOpenThere) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,2X1*%%ADD11R,3X2X1*%%ADD12R,3X2X1X0.5*%%ADD13P,4X6X0X1*%"
                       "D10*X0Y0D03*D11*D03*D12*D03*D13*D03*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), kPi - kPi / 4, slack(3 * kPi));
  EXPECT_NEAR(area_mm2(image.objects[1]), 6 - kPi / 4, slack(kPi));
  EXPECT_NEAR(area_mm2(image.objects[2]), 5.5, 1e-9);
  EXPECT_NEAR(area_mm2(image.objects[3]), 6 * std::sqrt(3.0) - kPi / 4, slack(kPi) + 1e-5);
  for (const Object& o : image.objects) {
    ASSERT_EQ(o.shape.size(), 1u);
    ASSERT_EQ(o.shape[0].holes.size(), 1u);
    EXPECT_GT(signed_area_nm2(o.shape[0].outer), 0);
    EXPECT_LT(signed_area_nm2(o.shape[0].holes[0]), 0);
  }
}

// Every chord's middle and end within 1 um of the circle.
TEST(GerberFlash, OfACircleStaysWithinAMicrometre) {
  for (const double d : {0.01, 0.3, 5.0, 80.0}) {
    const LayerImage image = image_of(mm_file("%ADD10C," + std::to_string(d) + "*%D10*X0Y0D03*"));
    const Contour& c = image.objects[0].shape[0].outer;
    for (std::size_t i = 0; i < c.size(); ++i) {
      const Position a = c[i], b = c[(i + 1) % c.size()];
      const Position middle{(a.x + b.x) / 2, (a.y + b.y) / 2};
      EXPECT_NEAR(distance_nm({}, a), d * 5e5, 1.0);
      EXPECT_NEAR(distance_nm({}, middle), d * 5e5, 1000.0);
    }
  }
}

// Band of an arc: angle * radius * width, and two half discs.
TEST(GerberArc, OfAQuarterTurnIsABandWithCaps) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.5*%G75*D10*X3000000Y0D02*G03X0Y3000000I-3000000J0D01*"
                       "X0Y-3000000D02*G02X-3000000Y0I0J3000000D01*"));
  ASSERT_EQ(image.objects.size(), 2u);
  for (const Object& o : image.objects) {
    EXPECT_NEAR(area_mm2(o), kPi / 2 * 3 * 0.5 + disc_mm2(0.5), slack(2 * kPi * 3));
    EXPECT_TRUE(o.round);
    for (const Position p : o.spine) EXPECT_NEAR(distance_nm({}, p), 3e6, 1.0);
  }
  EXPECT_EQ(image.objects[0].spine.back(), position_mm(0, 3));
}

TEST(GerberArc, OfAWholeTurnIsARing) {
  for (const char* turn : {"G02", "G03"}) {
    const LayerImage image = image_of(mm_file(std::string("%ADD10C,0.5*%G75*D10*X3000000Y0D02*") +
                                              turn + "X3000000Y0I-3000000J0D01*"));
    ASSERT_EQ(image.objects[0].shape.size(), 1u);
    EXPECT_EQ(image.objects[0].shape[0].holes.size(), 1u);
    EXPECT_NEAR(area_mm2(image.objects[0]), 2 * kPi * 3 * 0.5, slack(12 * kPi));
  }
}

// 350 degrees of radius 1 with a pen of 0.5: the caps overlap, the ring is closed.
TEST(GerberArc, WhoseCapsMeetIsClosed) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.5*%G75*D10*X1000000Y0D02*G03X984808Y-173648I-1000000J0D01*"));
  ASSERT_EQ(image.objects[0].shape.size(), 1u);
  EXPECT_EQ(image.objects[0].shape[0].holes.size(), 1u);
  EXPECT_NEAR(area_mm2(image.objects[0]), 2 * kPi * 0.5, slack(4 * kPi));
}

// A pen wider than the arc's radius fills the inside: the disc, when the turn is whole.
TEST(GerberArc, OfASmallRadiusIsFilledInside) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,2*%G75*D10*X500000Y0D02*G03X500000Y0I-500000J0D01*"));
  ASSERT_EQ(image.objects[0].shape.size(), 1u);
  EXPECT_TRUE(image.objects[0].shape[0].holes.empty());
  EXPECT_NEAR(area_mm2(image.objects[0]), disc_mm2(3), slack(3 * kPi));
}

// Oracle: the same arc as many short straight strokes of the same pen, painted together.
TEST(GerberArc, OfASmallRadiusIsWhatItsChordsPaint) {
  for (const int degrees : {1, 60, 90, 180, 200, 270, 330, 359}) {
    for (const double pen : {2.0, 2.001, 3.0, 9.0}) {
      const double end = degrees * kPi / 180;
      const auto place = [](double angle) {
        return "X" + std::to_string(std::llround(1e6 * std::cos(angle))) + "Y" +
               std::to_string(std::llround(1e6 * std::sin(angle)));
      };
      const std::string head = "%ADD10C," + std::to_string(pen) + "*%G75*D10*X1000000Y0D02*";
      std::string chords = head;
      for (int i = 1; i <= 40; ++i) chords += place(end * i / 40) + "D01*";
      const LayerImage arc = image_of(mm_file(head + "G03" + place(end) + "I-1000000J0D01*"));
      const auto sum = painted(image_of(mm_file(chords)));
      ASSERT_EQ(arc.objects.size(), 1u);
      const auto& shape = arc.objects[0].shape;
      // The chords' own error: 1 - cos(4.5 degrees) of 1 mm, along the outer edge.
      const double allowed = slack(8 * (pen + 2)) + (1 - std::cos(end / 80)) * 2 * kPi * (1 + pen);
      EXPECT_LT(area_mm2(gerber::subtract(shape, sum)), allowed) << degrees << " " << pen;
      EXPECT_LT(area_mm2(gerber::subtract(sum, shape)), allowed) << degrees << " " << pen;
    }
  }
}

TEST(GerberArc, InSingleQuadrantModeFindsItsCentre) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.5*%G74*D10*X3000000Y0D02*G03X0Y3000000I3000000J0D01*"
                       "G03X-3000000Y0I0J3000000D01*G02X0Y3000000I3000000J0D01*"));
  ASSERT_EQ(image.objects.size(), 3u);
  for (const Object& o : image.objects) {
    EXPECT_NEAR(area_mm2(o), kPi / 2 * 3 * 0.5 + disc_mm2(0.5), slack(2 * kPi * 3));
    for (const Position p : o.spine) EXPECT_NEAR(distance_nm({}, p), 3e6, 1.0);
  }
}

TEST(GerberArc, WithoutACentreIsALineAndIsTold) {
  const Noted n = noted(mm_file("%ADD10C,0.5*%G75*D10*X0Y0D02*G03X2000000Y0D01*"));
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-048"});
  EXPECT_NEAR(area_mm2(n.image.objects[0]), 1 + disc_mm2(0.5), slack(kPi));
}

TEST(GerberRegion, IsItsArea) {
  const LayerImage image = image_of(mm_file("G36*X0Y0D02*G01X4000000D01*Y3000000D01*X0Y0D01*G37*"));
  ASSERT_EQ(image.objects.size(), 1u);
  const Object& region = image.objects[0];
  EXPECT_EQ(region.kind, ObjectKind::region);
  EXPECT_EQ(region.shape,
            (std::vector{Polygon{{position_mm(0, 0), position_mm(4, 0), position_mm(4, 3)}, {}}}));
  EXPECT_TRUE(region.spine.empty());
}

TEST(GerberRegion, IsTheSameDrawnClockwise) {
  const LayerImage image = image_of(mm_file("G36*X0Y0D02*X4000000Y3000000D01*Y0D01*X0D01*G37*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), 6, 1e-9);
  EXPECT_GT(signed_area_nm2(image.objects[0].shape[0].outer), 0);
}

TEST(GerberRegion, WithArcsHasRoundCorners) {
  // A square of 2 with one corner rounded by radius 1: 4 - 1 + pi / 4.
  const LayerImage image = image_of(
      mm_file("G75*G36*X0Y0D02*G01X2000000D01*Y1000000D01*G03X1000000Y2000000I-1000000J0D01*"
              "G01X0D01*Y0D01*G37*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), 3 + kPi / 4, slack(kPi / 2));
}

TEST(GerberRegion, OfACircleIsADisc) {
  const LayerImage image =
      image_of(mm_file("G75*G36*X1000000Y0D02*G03X1000000Y0I-1000000J0D01*G37*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), kPi, slack(2 * kPi));
}

TEST(GerberRegion, UnitesItsContours) {
  const LayerImage image =
      image_of(mm_file("G36*X0Y0D02*X2000000D01*Y2000000D01*X0D01*Y0D01*"
                       "X1000000Y1000000D02*X3000000D01*Y3000000D01*X1000000D01*Y1000000D01*"
                       "X9000000Y0D02*X10000000D01*Y1000000D01*X9000000D01*Y0D01*G37*"));
  ASSERT_EQ(image.objects.size(), 1u);
  EXPECT_EQ(image.objects[0].shape.size(), 2u);
  EXPECT_NEAR(area_mm2(image.objects[0]), 7 + 1, 1e-9);
}

// GLF 2023.08, 4.10.3: a hole by a fully coincident cut-in.
TEST(GerberRegion, WithACutInHasAHole) {
  const LayerImage image = image_of(
      mm_file("G36*X0Y0D02*X10000000D01*Y10000000D01*X0D01*Y5000000D01*X2000000D01*Y8000000D01*"
              "X8000000D01*Y2000000D01*X2000000D01*Y5000000D01*X0D01*Y0D01*G37*"));
  ASSERT_EQ(image.objects[0].shape.size(), 1u);
  ASSERT_EQ(image.objects[0].shape[0].holes.size(), 1u);
  EXPECT_NEAR(area_mm2(image.objects[0]), 100 - 36, 1e-9);
}

TEST(GerberRegion, WithTwoHolesOnOneSlantedCutInHasBoth) {
  const LayerImage image = image_of(mm_file(
      "G36*X0Y0D02*X10000000D01*Y10000000D01*X0D01*Y0D01*"
      "X2000000Y1000000D01*Y3000000D01*X4000000D01*X6000000Y4000000D01*Y6000000D01*X8000000D01*"
      "Y4000000D01*X6000000D01*X4000000Y3000000D01*Y1000000D01*X2000000D01*X0Y0D01*G37*"));
  ASSERT_EQ(image.objects[0].shape.size(), 1u);
  EXPECT_EQ(image.objects[0].shape[0].holes.size(), 2u);
  EXPECT_NEAR(area_mm2(image.objects[0]), 100 - 4 - 4, 1e-9);
}

TEST(GerberRegion, WithAnIslandInItsHoleKeepsTheIsland) {
  const LayerImage image = image_of(
      mm_file("G36*X0Y0D02*X10000000D01*Y10000000D01*X0D01*Y5000000D01*X2000000D01*Y8000000D01*"
              "X8000000D01*Y2000000D01*X2000000D01*Y5000000D01*X0D01*Y0D01*"
              "X4000000Y4000000D02*X6000000D01*Y6000000D01*X4000000D01*Y4000000D01*G37*"));
  EXPECT_EQ(image.objects[0].shape.size(), 2u);
  EXPECT_NEAR(area_mm2(image.objects[0]), 64 + 4, 1e-9);
}

TEST(GerberRegion, LeftOpenIsClosedAndTold) {
  const Noted n = noted(mm_file("G36*X0Y0D02*X4000000D01*Y3000000D01*G37*"));
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-042"});
  EXPECT_NEAR(area_mm2(n.image.objects[0]), 6, 1e-9);
}

TEST(GerberRegion, ThatCrossesItselfIsTold) {
  const Noted n =
      noted(mm_file("G36*X0Y0D02*X4000000Y4000000D01*X4000000Y0D01*X0Y4000000D01*X0Y0D01*G37*"));
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-044"});
  EXPECT_NEAR(area_mm2(n.image.objects[0]), 8, 1e-9);
}

TEST(GerberRegion, WithoutAreaIsLeftOut) {
  for (const char* contour :
       {"X0Y0D02*X4000000Y0D01*X0Y0D01*", "X0Y0D02*X4000000D01*X2000000D01*X1000000D01*X0D01*"}) {
    const Noted n = noted(mm_file(std::string("G36*") + contour + "G37*"));
    EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-043"});
    EXPECT_TRUE(n.image.objects.empty());
  }
}

}  // namespace
}  // namespace isthmus::formats
