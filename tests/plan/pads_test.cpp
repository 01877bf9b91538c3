// SPDX-License-Identifier: Apache-2.0
// Oracle: the drawings, made here.
#include "plan/pads.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace isthmus::plan {
namespace {

using formats::ObjectKind;

Polygon rectangle(double x, double y, double width, double height) {
  const Position at = position_mm(x, y), half = position_mm(width / 2, height / 2);
  const Position across{half.x, -half.y};
  return {{at - half, at + across, at + half, at - across}, {}};
}

class Drawing {
 public:
  Drawing() { board.design.copper.resize(2); }
  Drawing& add(ObjectKind kind, const Polygon& shape, std::size_t layer = 0) {
    formats::Object object;
    object.kind = kind;
    object.shape = {shape};
    board.design.copper[layer].objects.push_back(object);
    return *this;
  }
  Drawing& conductor() {
    formats::LayerImage& image = board.design.copper[0];
    image.objects.back().attributes = 1;
    image.attributes.resize(2);
    image.attributes[1].aperture_function = "Conductor";
    return *this;
  }
  [[nodiscard]] bool holds(double x, double y, double size = 0.5, Side side = Side::top) const {
    expect::Point point;
    point.size = from_mm(size);
    return Pads(board, side).on_pad_of(point, position_mm(x, y));
  }
  expect::Board board;
};

TEST(Pads, AFlashIsThePadToItsEdge) {
  const Drawing d = Drawing().add(ObjectKind::flash, rectangle(0, 0, 3, 0.5));
  EXPECT_TRUE(d.holds(1.5, 0.25));
  EXPECT_FALSE(d.holds(1.6, 0));
  EXPECT_FALSE(d.holds(0, 0.3));
}

TEST(Pads, TheSmallestFlashUnderThePointIsItsPad) {
  const Drawing d = Drawing()
                        .add(ObjectKind::flash, rectangle(0, 0, 6, 6))
                        .add(ObjectKind::flash, rectangle(0, 0, 0.6, 0.6));
  EXPECT_TRUE(d.holds(0.3, 0));
  EXPECT_FALSE(d.holds(2, 0));
}

TEST(Pads, EachSideHasItsOwn) {
  const Drawing d = Drawing()
                        .add(ObjectKind::flash, rectangle(0, 0, 1, 1), 0)
                        .add(ObjectKind::flash, rectangle(0, 0, 3, 1), 1);
  EXPECT_FALSE(d.holds(1.2, 0, 1, Side::top));
  EXPECT_TRUE(d.holds(1.2, 0, 1, Side::bottom));
}

TEST(Pads, AHoleInThePadCountsAsPad) {
  Polygon ring = rectangle(0, 0, 2, 2);
  Contour hole = rectangle(0, 0, 1, 1).outer;
  std::ranges::reverse(hole);
  ring.holes = {hole};
  const Drawing d = Drawing().add(ObjectKind::flash, ring);
  EXPECT_TRUE(d.holds(0.2, 0));
  EXPECT_TRUE(d.holds(0.9, 0));
  EXPECT_FALSE(d.holds(1.1, 0));
}

// No pad is drawn: the pad's smaller extent, at least 0.1 mm all round.
TEST(Pads, WithoutAShapeAPadIsItsSmallerExtent) {
  EXPECT_TRUE(Drawing().holds(0.25, 0, 0.5));
  EXPECT_FALSE(Drawing().holds(0.26, 0, 0.5));
  EXPECT_TRUE(Drawing().holds(0.1, 0, 0));
  EXPECT_FALSE(Drawing().holds(0.11, 0, 0));
}

TEST(Pads, APadPaintedInItsSizeIsAPad) {
  for (const ObjectKind kind : {ObjectKind::region, ObjectKind::stroke}) {
    EXPECT_TRUE(Drawing().add(kind, rectangle(0, 0, 3, 0.5)).holds(1.4, 0));
    EXPECT_FALSE(Drawing().add(kind, rectangle(0, 0, 3, 0.5)).holds(1.6, 0));
  }
}

TEST(Pads, ATrackOrAPourUnderThePointIsNoPad) {
  const auto track = rectangle(10, 0, 20, 0.5);  // begins at the point
  EXPECT_FALSE(Drawing().add(ObjectKind::stroke, track).holds(1, 0));
  EXPECT_FALSE(Drawing().add(ObjectKind::region, rectangle(0, 0, 20, 20)).holds(1, 0));
  EXPECT_FALSE(
      Drawing().add(ObjectKind::stroke, rectangle(0, 0, 3, 0.5)).conductor().holds(1.4, 0));
}

}  // namespace
}  // namespace isthmus::plan
