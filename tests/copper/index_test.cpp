// SPDX-License-Identifier: Apache-2.0
// The indexes against plain loops over everything.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "copper/index/boxes.hpp"
#include "copper/index/edges.hpp"
#include "isthmus/copper/islands.hpp"
#include "tests/support/random_layer.hpp"

namespace isthmus::copper {
namespace {

Copper random_copper(std::uint32_t seed) {
  return extract_copper(test::design_of(test::random_objects(seed, {.clear_share = 0.2}))).value();
}

Position random_place(test::Lot& lot, double side_mm = 20) {
  return position_mm(lot.between(-1, side_mm + 1), lot.between(-1, side_mm + 1));
}

TEST(PolygonLocator, AgreesWithThePlainTestAlsoOnCornersAndEdges) {
  const Copper copper = random_copper(4);
  test::Lot lot(1);
  for (const Island& island : copper.islands) {
    const PolygonLocator locator(island.outline);
    for (int i = 0; i < 50; ++i) {
      const Position p = random_place(lot);
      EXPECT_EQ(locator.locate(p), isthmus::locate(p, island.outline));
    }
    std::vector<Segment> edges;
    append_edges(island.outline, edges);
    for (const Segment& e : edges) {
      EXPECT_EQ(locator.locate(e.a), Where::boundary);
      const Position middle{(e.a.x + e.b.x) / 2, (e.a.y + e.b.y) / 2};
      for (const Position p : {middle, Position{e.a.x, e.b.y}, Position{e.a.x + 1, e.a.y}}) {
        EXPECT_EQ(locator.locate(p), isthmus::locate(p, island.outline));
      }
    }
  }
}

std::vector<Segment> random_segments(std::uint32_t seed) {
  test::Lot lot(seed);
  std::vector<Segment> out;
  for (int i = 0; i < 300; ++i) {
    const Position a = random_place(lot);
    const double reach = i % 10 == 0 ? 20 : 0.3;  // some long ones across many cells
    out.push_back({a, a + position_mm(lot.between(-reach, reach), lot.between(-reach, reach))});
  }
  return out;
}

TEST(SegmentGrid, FindsEverySegmentThatReachesTheBox) {
  const SegmentGrid grid(random_segments(1), 250'000);
  test::Lot lot(2);
  for (int i = 0; i < 100; ++i) {
    const Position p = random_place(lot);
    const Box box = Box{p, p}.grown(300_um);
    std::set<std::uint32_t> found;
    grid.for_each(box, [&](std::uint32_t s) { return found.insert(s), true; });
    for (std::uint32_t s = 0; s < grid.segments().size(); ++s) {
      const bool near = closest(p, grid.segments()[s]).distance_nm <= 300e3;
      EXPECT_TRUE(!near || found.contains(s));
    }
  }
}

TEST(SegmentGrid, FindsEverySegmentThatMeetsAnother) {
  const SegmentGrid grid(random_segments(3), 250'000);
  for (const Segment& way : random_segments(4)) {
    std::set<std::uint32_t> found;
    grid.for_each_along(way, [&](std::uint32_t s) { return found.insert(s), true; });
    for (std::uint32_t s = 0; s < grid.segments().size(); ++s) {
      EXPECT_TRUE(!crosses_or_touches(way, grid.segments()[s]) || found.contains(s));
    }
  }
}

TEST(SegmentGrid, StopsWhenTheVisitorSaysSo) {
  const SegmentGrid grid(random_segments(1), 250'000);
  int visits = 0;
  EXPECT_FALSE(
      grid.for_each({{0, 0}, position_mm(20, 20)}, [&](std::uint32_t) { return ++visits < 3; }));
  EXPECT_EQ(visits, 3);
}

TEST(BoxIndex, FindsWhatAPlainLoopFinds) {
  for (const std::size_t n : {0UL, 1UL, 16UL, 17UL, 500UL}) {
    test::Lot lot(5);
    std::vector<Box> boxes(n);
    for (Box& box : boxes) {
      box.add(random_place(lot));
      box.add(box.lo + position_mm(lot.between(0, 3), lot.between(0, 3)));
    }
    if (n > 1) boxes[1] = Box{};
    const BoxIndex index(boxes);
    for (int i = 0; i < 50; ++i) {
      const Position p = random_place(lot);
      const Box asked = Box{p, p}.grown(500_um);
      std::vector<std::size_t> expected;
      for (std::size_t b = 0; b < n; ++b) {
        if (!boxes[b].empty() && boxes[b].overlaps(asked)) expected.push_back(b);
      }
      EXPECT_EQ(index.overlapping(asked), expected);
    }
  }
}

TEST(IslandIndex, NearAgreesWithDistancesToAllEdges) {
  const Copper copper = random_copper(6);
  const IslandIndex index(copper);
  test::Lot lot(7);
  for (int i = 0; i < 200; ++i) {
    const Position p = random_place(lot);
    std::vector<std::pair<double, IslandId>> order;
    for (std::size_t k = 0; k < copper.islands.size(); ++k) {
      const Island& island = copper.islands[k];
      double least = locate(p, island) != Where::outside ? 0 : 1e18;
      for (std::size_t piece = 0; piece < island.pieces(); ++piece) {
        std::vector<Segment> edges;
        append_edges(island.piece(piece), edges);
        for (const Segment& e : edges) least = std::min(least, closest(p, e).distance_nm);
      }
      if (least <= 2e6) order.emplace_back(least, static_cast<IslandId>(k));
    }
    std::sort(order.begin(), order.end());
    std::vector<IslandId> expected;
    for (const auto& [distance, id] : order) expected.push_back(id);
    EXPECT_EQ(index.near(LayerId{0}, p, 2_mm), expected);
  }
}

}  // namespace
}  // namespace isthmus::copper
