// SPDX-License-Identifier: Apache-2.0
// Distances of all pairs of islands of a real board, measured by GEOS on its own union of the
// shapes.
#include <gtest/gtest.h>

#include <map>

#include "isthmus/copper/gaps.hpp"
#include "isthmus/formats/gerber.hpp"
#include "tests/copper/board_layers.hpp"
#include "tests/copper/geos_witness.hpp"
#include "tests/support/layer_shapes.hpp"

namespace isthmus::copper {
namespace {

void expect_distances_of(const formats::LayerImage& image) {
  const Copper copper =
      extract_copper(test::design_of(std::vector<formats::LayerImage>{image})).value();
  const test::GeosLayer witness(image);
  ASSERT_EQ(copper.islands.size(), witness.islands());
  const IslandIndex at(copper);
  std::map<std::pair<std::size_t, std::size_t>, double> least;
  for (std::size_t p = 0; p < witness.parts().size(); ++p) {
    const std::size_t a = index(at.at(LayerId{0}, witness.inner_point(p)).value());
    for (std::size_t q = 0; q < p; ++q) {
      const std::size_t b = index(at.at(LayerId{0}, witness.inner_point(q)).value());
      if (a == b || !copper.islands[a].box.grown(1270_um).overlaps(copper.islands[b].box)) continue;
      const double d = witness.geos().distance(witness.parts()[p], witness.parts()[q]);
      const auto [it, fresh] = least.try_emplace({std::min(a, b), std::max(a, b)}, d);
      if (!fresh) it->second = std::min(it->second, d);
    }
  }
  std::erase_if(least, [](const auto& entry) { return entry.second > 1270e3; });
  const std::vector<Gap> gaps = find_gaps(copper, 1270_um);
  EXPECT_EQ(gaps.size(), least.size());
  for (const Gap& gap : gaps) {
    const auto it = least.find({index(gap.a), index(gap.b)});
    ASSERT_NE(it, least.end());
    EXPECT_NEAR(gap.distance_nm, it->second, 2);  // crossings are rounded to 1 nm on both outlines
  }
}

TEST(GapsAgainstGeos, DistancesOnRealBoards) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t layers = 0;
  for (const std::filesystem::path& file : test::copper_files(boards)) {
    const std::string board = file.parent_path().filename().string();
    if (board != "melody" && board != "encoder" && board != "school") continue;
    SCOPED_TRACE(file.string());
    Diagnostics notes;
    const auto image = formats::read_gerber(test::read_bytes(file), file.string(), notes);
    ASSERT_TRUE(image.ok());
    expect_distances_of(*image);
    ++layers;
  }
  EXPECT_EQ(layers, 6U);
}

}  // namespace
}  // namespace isthmus::copper
