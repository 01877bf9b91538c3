// SPDX-License-Identifier: Apache-2.0
// GEOS as the independent witness: the same shapes, its own overlay and point location.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/gerber.hpp"
#include "tests/copper/board_layers.hpp"
#include "tests/copper/geos_witness.hpp"
#include "tests/support/random_layer.hpp"

namespace isthmus::copper {
namespace {

constexpr LayerId kLayer{0};

// Islands of ours against islands of the witness, one to one, by a point inside each of its parts.
void expect_same_islands(const Copper& copper, const IslandIndex& index,
                         const test::GeosLayer& witness) {
  ASSERT_EQ(copper.islands.size(), witness.islands());
  std::map<std::size_t, IslandId> ours;
  for (std::size_t part = 0; part < witness.parts().size(); ++part) {
    const auto here = index.at(kLayer, witness.inner_point(part));
    ASSERT_TRUE(here.has_value()) << "part " << part;
    const auto [it, fresh] = ours.try_emplace(witness.island_of_part(part), *here);
    EXPECT_EQ(it->second, *here) << "two of our islands are one";
  }
  std::vector<bool> taken(copper.islands.size(), false);
  for (const auto& [theirs, id] : ours) {
    EXPECT_FALSE(taken[isthmus::index(id)]) << "two of its islands are one of ours";
    taken[isthmus::index(id)] = true;
    // Rounding moves a vertex by at most 0.71 nm, so the area by at most that times the outline.
    EXPECT_NEAR(copper.island(id).area_nm2, witness.area_of(theirs),
                0.8 * witness.outline_of(theirs));
  }
}

// The same partition of points drawn by lot.
void expect_same_at_points(const Copper& copper, const IslandIndex& index,
                           const test::GeosLayer& witness, std::size_t points) {
  Box box;
  for (const Island& island : copper.islands) box.add(island.box);
  test::Lot lot(7);
  std::map<std::size_t, IslandId> ours;
  for (std::size_t i = 0; i < points; ++i) {
    const Position p{
        std::llround(lot.between(static_cast<double>(box.lo.x), static_cast<double>(box.hi.x))),
        std::llround(lot.between(static_cast<double>(box.lo.y), static_cast<double>(box.hi.y)))};
    const auto theirs = witness.island_at(p);
    const auto mine = index.at(kLayer, p);
    if (mine.has_value() != theirs.has_value()) {
      ASSERT_TRUE(witness.on_edge(p)) << p.x << " " << p.y;
    } else if (mine) {
      EXPECT_EQ(ours.try_emplace(*theirs, *mine).first->second, *mine) << p.x << " " << p.y;
    }
  }
}

void expect_witness_agrees(const formats::LayerImage& image, std::size_t points) {
  const Copper copper =
      extract_copper(test::design_of(std::vector<formats::LayerImage>{image})).value();
  const IslandIndex index(copper);
  const test::GeosLayer witness(image);
  double area = 0;
  for (const Island& island : copper.islands) area += island.area_nm2;
  EXPECT_NEAR(area / witness.area(), 1, 1e-6);
  ASSERT_NO_FATAL_FAILURE(expect_same_islands(copper, index, witness));
  expect_same_at_points(copper, index, witness, points);
}

TEST(IslandsAgainstGeos, RandomDarkLayers) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE(seed);
    expect_witness_agrees(test::layer_of(test::random_objects(seed, {})), 300);
  }
}

TEST(IslandsAgainstGeos, RandomLayersWithClearObjectsInOrder) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE(seed);
    expect_witness_agrees(
        test::layer_of(test::random_objects(seed, {.objects = 80, .clear_share = 0.3})), 300);
  }
}

TEST(IslandsAgainstGeos, RandomLayersOnAGridWhereShapesTouchAndCoincide) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE(seed);
    expect_witness_agrees(
        test::layer_of(test::random_objects(seed, {.objects = 60, .grid_mm = 0.5})), 300);
  }
}

TEST(IslandsAgainstGeos, TheWitnessNoticesAConnectionThatWasCut) {
  // Each object missing from one side only: seen, unless it changes no island.
  const std::vector<formats::Object> objects{
      test::dark(test::disc(0, 0, 1)), test::dark(test::disc(5, 0, 1)),
      test::dark(test::track(0, 0, 5, 0, 0.3)), test::clear(test::rectangle(2, -1, 2.2, 1)),
      test::dark(test::track(1.5, 0, 2.7, 0, 0.1))};
  for (std::size_t left_out = 2; left_out < objects.size(); ++left_out) {
    std::vector<formats::Object> cut = objects;
    cut.erase(cut.begin() + static_cast<std::ptrdiff_t>(left_out));
    const Copper copper = extract_copper(test::design_of(std::move(cut))).value();
    const test::GeosLayer witness(test::layer_of(objects));
    const bool bridges = left_out == 2 || left_out == 4;
    EXPECT_EQ(copper.islands.size() != witness.islands(), bridges) << left_out;
  }
}

TEST(IslandsAgainstGeos, CopperLayersOfTheRealBoards) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t layers = 0;
  for (const std::filesystem::path& file : test::copper_files(boards)) {
    SCOPED_TRACE(file.string());
    Diagnostics notes;
    const auto image = formats::read_gerber(test::read_bytes(file), file.string(), notes);
    ASSERT_TRUE(image.ok());
    expect_witness_agrees(*image, 1000);
    ++layers;
  }
  EXPECT_GE(layers, 30U);
}

}  // namespace
}  // namespace isthmus::copper
