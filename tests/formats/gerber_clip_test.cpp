// SPDX-License-Identifier: Apache-2.0
// Boolean operations against areas known in closed form and against GEOS.
#include <algorithm>
#include <utility>

#include "formats/gerber/clip.hpp"
#include "tests/copper/geos_witness.hpp"
#include "tests/formats/gerber_support.hpp"
#include "tests/support/random_layer.hpp"

namespace isthmus::formats::gerber {
namespace {

Contour box(double x0, double y0, double x1, double y1) {
  return {position_mm(x0, y0), position_mm(x1, y0), position_mm(x1, y1), position_mm(x0, y1)};
}
Polygons square(double from, double to) { return {{box(from, from, to, to), {}}}; }
// A frame `width` wide whose outer edges lie at +-half.
Polygon frame(double half, double width) {
  Contour hole = box(width - half, width - half, half - width, half - width);
  std::reverse(hole.begin(), hole.end());
  return {box(-half, -half, half, half), {hole}};
}

// Contours turn as geometry.hpp wants them.
void expect_well_formed(const Polygons& polygons) {
  for (const Polygon& polygon : polygons) {
    EXPECT_GT(signed_area_nm2(polygon.outer), 0);
    for (const Contour& hole : polygon.holes) EXPECT_LT(signed_area_nm2(hole), 0);
  }
}

TEST(GerberClip, FillsBothLobesOfABowTie) {
  // (0,0) (2,2) (2,0) (0,2): two triangles of base 2 and height 1, wound in opposite senses.
  const Polygons filled =
      fill({position_mm(0, 0), position_mm(2, 2), position_mm(2, 0), position_mm(0, 2)});
  EXPECT_EQ(filled.size(), 2u);
  expect_well_formed(filled);
  EXPECT_NEAR(area_mm2(filled), 2, 1e-9);
}

TEST(GerberClip, FillsOnceWhatIsWoundAroundTwice) {
  Contour twice = box(0, 0, 4, 4);
  const Contour again = box(0, 0, 2, 2);
  twice.insert(twice.end(), again.begin(), again.end());
  EXPECT_NEAR(area_mm2(fill(twice)), 16, 1e-9);
}

TEST(GerberClip, FillsACutInAsAHole) {
  // The inner square is gone around the other way and entered and left over one cut: GLF 2023.08,
  // 4.10.3.
  Contour cut_in{position_mm(0, 0), position_mm(9, 0), position_mm(9, 9), position_mm(0, 9),
                 position_mm(0, 3), position_mm(3, 3), position_mm(3, 6), position_mm(6, 6),
                 position_mm(6, 3), position_mm(3, 3), position_mm(0, 3)};
  const Polygons filled = fill(cut_in);
  ASSERT_EQ(filled.size(), 1u);
  EXPECT_EQ(filled[0].holes.size(), 1u);
  expect_well_formed(filled);
  EXPECT_NEAR(area_mm2(filled), 81 - 9, 1e-9);
}

TEST(GerberClip, OfAContourWithoutAreaIsNothing) {
  EXPECT_TRUE(fill({position_mm(0, 0), position_mm(1, 1), position_mm(3, 3)}).empty());
  EXPECT_TRUE(fill({}).empty());
}

TEST(GerberClip, KeepsFramesWithinFramesApart) {
  // Frames of 10, 6 and 2 mm, each 1 wide, and what they lose to a cross of bars 1 wide.
  const Polygons frames = unite({frame(5, 1), frame(3, 1), frame(1, 1 - 1e-6)});
  EXPECT_EQ(frames.size(), 3u);
  expect_well_formed(frames);
  EXPECT_NEAR(area_mm2(frames), (100 - 64) + (36 - 16) + 4, 1e-9);
  const Polygons cut = subtract(frames, {{box(-6, -0.5, 6, 0.5), {}}});
  EXPECT_EQ(cut.size(), 6u);
  EXPECT_NEAR(area_mm2(cut), 60 - 2 - 2 - 2, 1e-9);
}

TEST(GerberClip, SubtractsAHoleAllOrNothing) {
  const Polygons holed = subtract(square(0, 6), square(2, 4));
  ASSERT_EQ(holed.size(), 1u);
  EXPECT_EQ(holed[0].holes.size(), 1u);
  EXPECT_NEAR(area_mm2(holed), 36 - 4, 1e-9);
  EXPECT_TRUE(subtract(square(2, 4), square(0, 6)).empty());
  EXPECT_NEAR(area_mm2(subtract(square(0, 1), square(2, 4))), 1, 1e-9);
  EXPECT_NEAR(area_mm2(subtract(square(0, 1), {})), 1, 1e-9);
  EXPECT_TRUE(subtract({}, square(0, 1)).empty());
  EXPECT_TRUE(unite({}).empty());
}

TEST(GerberClip, UnitesEdgesThatCoincide) {
  Polygons all;
  for (int x = 0; x < 20; ++x) {
    for (int y = 0; y < 20; ++y) all.push_back({box(x, y, x + 1, y + 1), {}});
  }
  EXPECT_EQ(unite(all).size(), 1u);
  EXPECT_NEAR(area_mm2(unite(all)), 400, 1e-9);
}

// Area by GEOS, in nm2, and how long its outlines are: rounding moves a vertex by at most 0.71 nm.
struct ByGeos {
  double area{}, outline{};
};
ByGeos by_geos(const Polygons& dark, const Polygons& clear) {
  LayerImage image;
  for (const bool is_dark : {true, false}) {
    image.objects.emplace_back().dark = is_dark;
    image.objects.back().shape = is_dark ? dark : clear;
  }
  const test::GeosLayer witness(image);
  ByGeos seen{witness.area(), 0};
  witness.for_each_edge([&seen](double length) { seen.outline += length; });
  return seen;
}

Polygons shapes_of(const std::vector<Object>& objects) {
  Polygons all;
  for (const Object& o : objects) all.insert(all.end(), o.shape.begin(), o.shape.end());
  return all;
}

TEST(GerberClip, HasTheAreasOfGeos) {
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    const Polygons a = shapes_of(test::random_objects(seed, {.objects = 60}));
    const Polygons b = shapes_of(test::random_objects(seed + 100, {.objects = 40}));
    const ByGeos both = by_geos(a, {}), rest = by_geos(a, b);
    EXPECT_NEAR(area_mm2(unite(a)), both.area * 1e-12, 0.8e-12 * both.outline) << seed;
    EXPECT_NEAR(area_mm2(subtract(unite(a), unite(b))), rest.area * 1e-12, 2e-12 * rest.outline)
        << seed;
  }
}

// The library underneath, giving up on its first calls.
Clip giving_up(int times) {
  return [times](ClipKind kind, const Polygons& a, const Polygons& b) mutable {
    return times-- > 0 ? std::nullopt : clip_once(kind, a, b);
  };
}

// Vertices move by up to 2 nm at each of 8 attempts at most, along an outline of `mm`.
double moved_mm2(double mm) { return 16e-6 * mm; }

TEST(GerberClip, GivesTheSameWhicheverOfTheFirstCallsFail) {
  for (int times = 0; times <= 8; ++times) {
    EXPECT_NEAR(area_mm2(subtract(square(0, 6), square(2, 4), giving_up(times))), 32,
                moved_mm2(32));
    EXPECT_NEAR(area_mm2(fill(box(0, 0, 3, 3), giving_up(times))), 9, moved_mm2(12));
  }
}

TEST(GerberClip, UnitesInHalvesWhatIsTooMuchAtOnce) {
  Polygons strips;
  for (int i = 0; i < 9; ++i) strips.push_back({box(i, 0, i + 1.5, 2), {}});
  for (int times = 1; times <= 10; ++times) {
    const Polygons all = unite(strips, giving_up(times));
    EXPECT_NEAR(area_mm2(all), 9.5 * 2, moved_mm2(50)) << times;
    EXPECT_EQ(all.size(), 1u) << times;
  }
}

TEST(GerberClip, DropsTheSliversThatMovedEdgesLeave) {
  // Cut along an edge both share: once the edges have moved, threads of some nanometres are left.
  const Polygons cut = subtract(square(0, 2), {{box(0, 0, 1, 2), {}}}, giving_up(1));
  ASSERT_EQ(cut.size(), 1u);
  EXPECT_NEAR(area_mm2(cut), 2, moved_mm2(8));
  EXPECT_TRUE(subtract(square(0, 2), square(0, 2), giving_up(1)).empty());
}

TEST(GerberClip, IsOurBugWhenNothingHelps) {
  EXPECT_THROW(fill(box(0, 0, 1, 1), giving_up(9)), OurBug);
  EXPECT_THROW(unite({}, giving_up(1000)), OurBug);
}

}  // namespace
}  // namespace isthmus::formats::gerber
