// SPDX-License-Identifier: Apache-2.0
// GEOS as the independent witness of conductors: paths lie in the copper, widths are twice the
// distance to its edge.
#include <gtest/gtest.h>

#include <numeric>

#include "isthmus/copper/conductors.hpp"
#include "isthmus/formats/gerber.hpp"
#include "tests/copper/board_layers.hpp"
#include "tests/copper/geos_witness.hpp"
#include "tests/support/random_layer.hpp"

namespace isthmus::copper {
namespace {

constexpr double kOutside = 4000;  // nm: the outline is simplified by 3 um
constexpr double kWidth = 12'000;  // nm: 3 um a side, and as much for chords of curved ways
constexpr double kThread =
    10'000;  // nm: at or below, a branch stands for copper that only just holds

test::Geos::Shape line(const test::Geos& geos, const std::vector<Position>& path) {
  GEOSCoordSequence* s =
      GEOSCoordSeq_create_r(geos.handle(), static_cast<unsigned>(path.size()), 2);
  for (std::size_t i = 0; i < path.size(); ++i) {
    GEOSCoordSeq_setXY_r(geos.handle(), s, static_cast<unsigned>(i), static_cast<double>(path[i].x),
                         static_cast<double>(path[i].y));
  }
  return geos.own(GEOSGeom_createLineString_r(geos.handle(), s));
}

// The copper of each island, a little grown, and its edges.
struct Seen {
  explicit Seen(const Copper& copper) {
    for (const Island& island : copper.islands) {
      std::vector<const Polygon*> all;
      for (std::size_t i = 0; i < island.pieces(); ++i) all.push_back(&island.piece(i));
      const test::Geos::Shape shape = geos.unite(all);
      grown.push_back(geos.own(GEOSBuffer_r(geos.handle(), shape.get(), kOutside, 4)));
      edge.push_back(geos.own(GEOSBoundary_r(geos.handle(), shape.get())));
      // Slits thinner than the simplification count as closed or not.
      const auto closed = geos.own(GEOSBuffer_r(geos.handle(), grown.back().get(), -kOutside, 4));
      closed_edge.push_back(geos.own(GEOSBoundary_r(geos.handle(), closed.get())));
      for (const auto* g : {&grown, &edge, &closed_edge}) {
        prepared.push_back(GEOSPrepare_r(geos.handle(), g->back().get()));
      }
    }
  }
  ~Seen() {
    for (const auto* p : prepared) GEOSPreparedGeom_destroy_r(geos.handle(), p);
  }
  Seen(const Seen&) = delete;
  Seen& operator=(const Seen&) = delete;

  test::Geos geos;
  double to_edge(Position p, const GEOSPreparedGeometry* from) const {
    double clear = 0;
    const auto at = geos.point(p);
    GEOSPreparedDistance_r(geos.handle(), from, at.get(), &clear);
    return clear;
  }

  std::vector<test::Geos::Shape> edge, closed_edge, grown;
  std::vector<const GEOSPreparedGeometry*> prepared;  // grown, edge, closed edge of each island
};

std::size_t pieces_of(const ConductorGraph& g) {
  std::vector<std::size_t> parent(g.nodes.size());
  std::iota(parent.begin(), parent.end(), 0u);
  const auto root = [&](std::size_t i) {
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
  };
  std::size_t pieces = g.nodes.size();
  for (const Branch& b : g.branches) {
    const std::size_t p = root(b.a), q = root(b.b);
    if (p != q) parent[p] = q, --pieces;
  }
  return pieces;
}

void expect_witness_agrees(const formats::LayerImage& image, std::size_t every) {
  formats::Design design = test::design_of(std::vector<formats::LayerImage>{image});
  const Copper copper = extract_copper(design).value();
  const ConductorGraph g = trace_conductors(design, copper);
  EXPECT_EQ(pieces_of(g), copper.islands.size());
  const Seen seen(copper);
  for (std::size_t k = 0; k < g.branches.size(); k += every) {
    const Branch& b = g.branches[k];
    const std::size_t island = index(g.nodes[b.a].island);
    ASSERT_EQ(g.nodes[b.a].island, g.nodes[b.b].island);
    if (static_cast<double>(b.width.value) <= kThread) continue;
    if (b.path.size() > 1) {
      const auto way = line(seen.geos, b.path);
      EXPECT_EQ(GEOSPreparedCovers_r(seen.geos.handle(), seen.prepared[3 * island], way.get()), 1)
          << "leaves the copper at " << to_mm(b.narrowest.x) << ", " << to_mm(b.narrowest.y);
    }
    const double width = static_cast<double>(b.width.value), slack = kWidth + 0.02 * width;
    EXPECT_GE(width, 2 * seen.to_edge(b.narrowest, seen.prepared[3 * island + 1]) - slack)
        << to_mm(b.narrowest.x);
    EXPECT_LE(width, 2 * seen.to_edge(b.narrowest, seen.prepared[3 * island + 2]) + slack)
        << to_mm(b.narrowest.x);
  }
}

TEST(ConductorsAgainstGeos, RandomDarkLayers) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE(seed);
    expect_witness_agrees(test::layer_of(test::random_objects(seed, {})), 1);
  }
}

TEST(ConductorsAgainstGeos, RandomLayersWithClearObjects) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE(seed);
    expect_witness_agrees(
        test::layer_of(test::random_objects(seed, {.objects = 80, .clear_share = 0.3})), 1);
  }
}

TEST(ConductorsAgainstGeos, RandomLayersOnAGridWhereShapesTouchAndCoincide) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    SCOPED_TRACE(seed);
    expect_witness_agrees(
        test::layer_of(test::random_objects(seed, {.objects = 60, .grid_mm = 0.5})), 1);
  }
}

TEST(ConductorsAgainstGeos, EveryThirdCopperLayerOfTheRealBoards) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t layers = 0;
  for (const std::filesystem::path& file : test::copper_files(boards)) {
    if (layers++ % 3 != 0) continue;  // GEOS needs seconds for its buffers
    SCOPED_TRACE(file.string());
    Diagnostics notes;
    const auto image = formats::read_gerber(test::read_bytes(file), file.string(), notes);
    ASSERT_TRUE(image.ok());
    expect_witness_agrees(*image, 29);
  }
  EXPECT_GE(layers, 30U);
}

}  // namespace
}  // namespace isthmus::copper
