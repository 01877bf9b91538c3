// SPDX-License-Identifier: Apache-2.0
// The auditor's copper and its faults. Expected values: counted on the drawn rectangles, or a flood
// of the whole raster made anew.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>

#include "tests/audit/faulty.hpp"
#include "tests/audit/skeleton.hpp"
#include "tests/support/layer_shapes.hpp"

namespace isthmus::audit {
namespace {

using test::clear;
using test::dark;
using test::design_of;
using test::disc;
using test::layer_of;
using test::rectangle;

formats::Hole hole_at(double x, double y, double d) {
  formats::Hole h;
  h.from = h.to = position_mm(x, y);
  h.diameter = from_mm(d);
  h.plated = true;
  return h;
}

// Two layers, a pad on each round one plated hole, and a track away on the lower.
formats::Design via_board(Stage stage) {
  formats::Design d =
      design_of(std::vector{layer_of({dark(disc(2, 2, 1.6))}),
                            layer_of({dark(disc(2, 2, 1.6)), dark(rectangle(2, 1.8, 9, 2.2))})});
  d.holes = {hole_at(2, 2, 0.8)};
  d.board.stage = stage;
  d.board.joins_mode = formats::JoinsMode::all;
  return d;
}

Cell under(const Raster& r, std::int32_t layer, double x, double y) {
  const Position p = position_mm(x, y);
  return {layer, r.grid.column(p.x), r.grid.row(p.y)};
}

Label label_at(const Raster& r, std::int32_t layer, double x, double y) {
  return r.label_at(under(r, layer, x, y));
}

formats::Design etched(std::vector<formats::Object> objects) {
  formats::Design d = design_of(std::move(objects));
  d.board.stage = Stage::etched;
  return d;
}

// 10 mm x 1 mm = 10 mm2 less the 1 mm2 cleared, at 0.05 mm: 400 cells a mm2.
TEST(Raster, PaintsDarkAndClearInTheirOrder) {
  const auto r =
      make_raster(etched({dark(rectangle(0, 0, 10, 1)), clear(rectangle(4, 0, 5, 1))}), 50_um);
  EXPECT_EQ(std::ranges::count(r.copper[0], 1), 9 * 400);
  EXPECT_NE(label_at(r, 0, 2, 0.5), label_at(r, 0, 8, 0.5));
  EXPECT_EQ(label_at(r, 0, 4.5, 0.5), kNone);
}

TEST(Raster, CopperThatMeetsIsOneConductor) {
  const auto r = make_raster(etched({dark(rectangle(0, 0, 5, 1)), dark(rectangle(4, 0, 5, 6))}));
  EXPECT_EQ(label_at(r, 0, 0.5, 0.5), label_at(r, 0, 4.5, 5.5));
  EXPECT_EQ(r.labels, 1u);
}

TEST(Raster, HolesConductOnlyOnceJoined) {
  const auto before = make_raster(via_board(Stage::etched));
  const auto after = make_raster(via_board(Stage::joined));
  EXPECT_NE(label_at(before, 0, 2.6, 2), label_at(before, 1, 8, 2));
  EXPECT_EQ(label_at(after, 0, 2.6, 2), label_at(after, 1, 8, 2));
  EXPECT_EQ(label_at(after, 0, 2, 2), kNone) << "drilled away";
}

TEST(Raster, OnlyListedJoinsThatAreNotDeferredConduct) {
  formats::Design d = via_board(Stage::joined);
  d.board.joins_mode = formats::JoinsMode::listed;
  EXPECT_TRUE(make_raster(d).metals.empty());
  d.board.joins = {{position_mm(2.1, 2), formats::JoinKind::wire, true}};
  EXPECT_TRUE(make_raster(d).metals.empty());
  d.board.joins[0].deferred = false;
  EXPECT_EQ(make_raster(d).metals.size(), 1u);
}

TEST(Raster, TheOtherSideHasNoPatternWhileOneIsEtched) {
  const auto r = make_raster(via_board(Stage::etched_top));
  EXPECT_TRUE(r.copper[1].empty());
  EXPECT_NE(label_at(r, 0, 2.6, 2), kNone);
}

TEST(Raster, JumpersConductOnceJoined) {
  formats::Design d = design_of({dark(rectangle(0, 0, 1, 1)), dark(rectangle(5, 0, 6, 1))});
  d.board.links = {{position_mm(0.5, 0.5), position_mm(5.5, 0.5), Side::top}};
  d.board.stage = Stage::joined;
  d.board.joins_mode = formats::JoinsMode::none;
  const auto r = make_raster(d);
  EXPECT_EQ(label_at(r, 0, 0.5, 0.5), label_at(r, 0, 5.5, 0.5));
}

TEST(Faulty, ASlitPartsATrackAndAnEmptiedHoleAJoin) {
  const auto r = make_raster(via_board(Stage::joined));
  Faulty f(r);
  Fault slit;
  slit.removed = cells_near(r.grid, 1, {position_mm(6, 0), position_mm(6, 4)}, 0.1e6);
  f.apply(slit);
  EXPECT_NE(f.at(under(r, 0, 2.6, 2)), f.at(under(r, 1, 8, 2)));
  EXPECT_EQ(f.at(under(r, 0, 2.6, 2)), f.at(under(r, 1, 4, 2)));
  EXPECT_TRUE(f.removed(under(r, 1, 6, 2)));
  Fault emptied;
  emptied.emptied = {0};
  f.apply(emptied);
  EXPECT_NE(f.at(under(r, 0, 2.6, 2)), f.at(under(r, 1, 4, 2)));
  EXPECT_EQ(f.at(under(r, 1, 4, 2)), f.at(under(r, 1, 8, 2)));
  f.apply({});
  EXPECT_EQ(f.at(under(r, 0, 2.6, 2)), f.at(under(r, 1, 8, 2)));
}

TEST(Faulty, ASplashJoinsTwoConductors) {
  const auto r = make_raster(etched(
      {dark(rectangle(0, 0, 1, 1)), dark(rectangle(2, 0, 3, 1)), dark(rectangle(4, 0, 5, 1))}));
  Faulty f(r);
  Fault splash;
  splash.joined = {{{under(r, 0, 0.5, 0.5), {}}, {under(r, 0, 2.5, 0.5), {}}}};
  f.apply(splash);
  EXPECT_EQ(f.at(under(r, 0, 0.5, 0.5)), f.at(under(r, 0, 2.5, 0.5)));
  EXPECT_NE(f.at(under(r, 0, 0.5, 0.5)), f.at(under(r, 0, 4.5, 0.5)));
}

// Witness: the same design painted anew with what was taken away cleared.
TEST(Faulty, AgreesWithAFloodOfTheWholeBoard) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> place(0, 20);
  std::vector<formats::Object> objects;
  for (int i = 0; i < 60; ++i) {
    const double x = place(random), y = place(random);
    const bool across = i % 2 == 0;
    objects.push_back(dark(rectangle(x, y, x + (across ? 6 : 0.4), y + (across ? 0.4 : 6))));
  }
  formats::Design design = etched(objects);
  const auto drawn = make_raster(design, 50_um);
  Faulty faulty(drawn);
  int parted = 0;
  for (int round = 0; round < 100; ++round) {
    const double x = place(random), y = place(random);
    formats::Design less = design;
    less.copper[0].objects.push_back(clear(rectangle(x, y, x + 1.5, y + 1.5)));
    const auto anew = make_raster(less, 50_um);
    ASSERT_EQ(anew.grid.origin, drawn.grid.origin);
    Fault fault;
    for (std::int32_t cy = 0; cy < drawn.grid.height; ++cy) {
      for (std::int32_t cx = 0; cx < drawn.grid.width; ++cx) {
        const std::size_t i = drawn.grid.at(cx, cy);
        if (drawn.copper[0][i] && !anew.copper[0][i]) fault.removed.push_back({0, cx, cy});
      }
    }
    faulty.apply(fault);
    std::map<Label, Label> there, back;
    for (const audit::Run& run : anew.runs) {
      const Cell c{0, run.x0, run.y};
      const Label a = anew.label_at(c), b = faulty.at(c);
      ASSERT_EQ(there.insert({a, b}).first->second, b) << "round " << round;
      ASSERT_EQ(back.insert({b, a}).first->second, a) << "round " << round;
    }
    parted += faulty.changes_anything() ? 1 : 0;
  }
  EXPECT_GT(parted, 20);
}

// A straight track thins to one line along its middle.
TEST(Skeleton, OfATrackIsItsMiddleLine) {
  const auto r = make_raster(etched({dark(rectangle(0, 0, 10, 0.5))}), 50_um);
  const Bitmap lines = skeleton_of(r.grid, r.copper[0]);
  EXPECT_NEAR(static_cast<double>(std::ranges::count(lines, 1)), 195, 8);
  const auto depth = depth_of(r.grid, r.copper[0]);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    EXPECT_TRUE(!lines[i] || depth[i] >= 10);
  }
}

}  // namespace
}  // namespace isthmus::audit
