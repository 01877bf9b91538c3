// SPDX-License-Identifier: Apache-2.0
#include "isthmus/copper/gaps.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <numbers>

#include "tests/support/random_layer.hpp"

namespace isthmus::copper {
namespace {

using formats::Object;
using test::circle;
using test::dark;
using test::disc;
using test::rectangle;
using test::ring;
using test::track;

Copper extract(std::vector<Object> objects) {
  return extract_copper(test::design_of(std::move(objects))).value();
}
std::vector<Gap> gaps_of(std::vector<Object> objects, Nanometres window = Nanometres{1'270'000}) {
  return find_gaps(extract(std::move(objects)), window);
}

// How far a place lies from the nearest closest-approach or path of a gap.
double off(const Gap& gap, Position p) {
  double least = 1e18;
  for (const Facing& f : gap.facings) {
    for (std::size_t i = 0; i < f.path.size(); ++i) {
      const Segment leg{f.path[i], f.path[std::min(i + 1, f.path.size() - 1)]};
      least = std::min(least, closest(p, leg).distance_nm);
    }
  }
  return least;
}

TEST(Gaps, ParallelEdgesWeighLengthOverDistance) {
  const auto gaps = gaps_of({dark(rectangle(0, 0, 20, 1)), dark(rectangle(0, 1.2, 20, 2.2))});
  ASSERT_EQ(gaps.size(), 1U);
  ASSERT_EQ(gaps[0].facings.size(), 1U);
  EXPECT_EQ(gaps[0].distance_nm, 200'000);
  EXPECT_NEAR(gaps[0].facings[0].length_nm, 20e6, 1);
  EXPECT_NEAR(gaps[0].weight, 20 / 0.2, 1e-6);
  const std::vector<Position> line{position_mm(19.975, 1.1), position_mm(0.025, 1.1)};
  EXPECT_EQ(gaps[0].facings[0].path, line);
}

TEST(Gaps, ARoundGapWeighsItsMiddleCircumferenceOverItsWidth) {
  Contour hole = circle(0, 0, 3, 512);
  const Polygon outer{circle(0, 0, 5, 512), {Contour(hole.rbegin(), hole.rend())}};
  const auto gaps = gaps_of({dark(outer), dark(disc(0, 0, 2, 512))});
  ASSERT_EQ(gaps.size(), 1U);
  ASSERT_EQ(gaps[0].facings.size(), 1U);
  EXPECT_NEAR(gaps[0].weight, 2 * std::numbers::pi * 1.25 / 0.5, 0.02);
}

TEST(Gaps, AWedgeWeighsTheIntegral) {
  // Edges y = 0 from x = 0 to L and y = s + k x. The way across from x is the perpendicular onto
  // the sloped edge, (s + k x) cos t long; its middle moves by sqrt(1 - 3/4 sin^2 t) dx. Hence the
  // closed form below.
  const double s = 0.2, k = 0.1, length = 10, t = std::atan(k);
  const Polygon sloped{{position_mm(-2, s - 2 * k), position_mm(14, s + 14 * k), position_mm(14, 5),
                        position_mm(-2, 5)},
                       {}};
  const auto gaps = gaps_of({dark(rectangle(0, -1, length, 0)), dark(sloped)}, 5_mm);
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_NEAR(gaps[0].distance_nm, s * std::cos(t) * 1e6, 1);
  const double sine = std::sin(t);
  const double weight =
      std::sqrt(1 - 0.75 * sine * sine) / (k * std::cos(t)) * std::log((s + k * length) / s);
  EXPECT_NEAR(gaps[0].facings[0].weight, weight, 1e-2 * weight);
}

TEST(Gaps, CloserThanTenMicrometresWeighsAsTen) {
  const auto gaps = gaps_of({dark(rectangle(0, 0, 1, 1)), dark(rectangle(0, 1.002, 1, 2))}, 5_um);
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_NEAR(gaps[0].weight, 1 / 0.01, 1e-6);
}

TEST(Gaps, TheWindowIsInclusive) {
  const std::vector<Object> two{dark(rectangle(0, 0, 1, 1)), dark(rectangle(0, 1.2, 1, 2))};
  EXPECT_EQ(gaps_of(two, 200_um).size(), 1U);
  EXPECT_TRUE(gaps_of(two, Nanometres{199'999}).empty());
}

TEST(Gaps, CornersFaceEachOther) {
  const auto gaps = gaps_of({dark(rectangle(0, 0, 1, 1)), dark(rectangle(1.3, 1.4, 2, 2))});
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_NEAR(gaps[0].distance_nm, 500'000, 1e-3);
  EXPECT_EQ(gaps[0].on_a, position_mm(1, 1));
  EXPECT_EQ(gaps[0].on_b, position_mm(1.3, 1.4));
  EXPECT_EQ(gaps[0].middle(), position_mm(1.15, 1.2));
}

TEST(Gaps, TheTipOfANeedleIsThere) {
  const Polygon needle{{position_mm(1.5, 0), position_mm(5, -0.001), position_mm(5, 0.001)}, {}};
  const auto gaps = gaps_of({dark(rectangle(0, -9, 1, 9)), dark(needle)});
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_EQ(gaps[0].distance_nm, 500'000);
  EXPECT_LE(off(gaps[0], position_mm(1.25, 0)), 50e3);
}

TEST(Gaps, EachPadBesideATrackHasAFacingOfItsOwn) {
  std::vector<Object> objects{dark(rectangle(0, 0, 10, 0.2)), dark(rectangle(0, 2, 10, 2.5))};
  for (double x : {1.0, 4.0, 8.0}) objects.push_back(dark(rectangle(x, 0.5, x + 0.6, 2.2)));
  const auto gaps = gaps_of(std::move(objects), 1_mm);
  ASSERT_EQ(gaps.size(), 1U);
  int near = 0;
  for (const Facing& f : gaps[0].facings) near += f.distance_nm == 300'000 ? 1 : 0;
  EXPECT_EQ(near, 3);
}

TEST(Gaps, BothSidesOfATrackInAChannelAreThere) {
  const auto gaps = gaps_of({dark(rectangle(0, 0, 10, 1)), dark(rectangle(0, 2, 10, 3)),
                             dark(rectangle(-1, 0, 0, 3)), dark(rectangle(1, 1.2, 9.8, 1.4))});
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_EQ(gaps[0].distance_nm, 200'000);
  EXPECT_LE(off(gaps[0], position_mm(5, 1.1)), 1);
  EXPECT_LE(off(gaps[0], position_mm(5, 1.7)), 1);
}

TEST(Gaps, CopperBetweenShieldsButThePairStillCounts) {
  const auto gaps = gaps_of({dark(rectangle(0, 0, 4, 1)), dark(rectangle(-1, 1.2, 6, 1.3)),
                             dark(rectangle(0, 1.5, 4, 3))});
  ASSERT_EQ(gaps.size(), 3U);
  EXPECT_EQ(gaps[2].distance_nm, 500'000);
  ASSERT_EQ(gaps[2].facings.size(), 1U);
  EXPECT_TRUE(gaps[2].facings[0].shielded);
  EXPECT_NEAR(gaps[2].weight, 0.1 * 4 / 0.5, 1e-6);
  EXPECT_FALSE(gaps[0].facings[0].shielded);
}

TEST(Gaps, AHalfShieldedPairIsPartedThere) {
  const auto gaps = gaps_of({dark(rectangle(0, 0, 4, 1)), dark(rectangle(-1, 1.2, 2, 1.3)),
                             dark(rectangle(0, 1.5, 4, 3))});
  ASSERT_EQ(gaps.size(), 3U);
  ASSERT_EQ(gaps[2].facings.size(), 2U);
  EXPECT_NE(gaps[2].facings[0].shielded, gaps[2].facings[1].shielded);
  EXPECT_NEAR(gaps[2].weight, 0.1 * 2 / 0.5 + 2 / 0.5, 0.1);
}

TEST(Gaps, LayersDoNotFaceEachOther) {
  const auto copper =
      extract_copper(test::design_of(std::vector<formats::LayerImage>{
                         test::layer_of({dark(disc(0, 0, 1)), dark(disc(1.2, 0, 1))}),
                         test::layer_of({dark(disc(0, 1.1, 1))})}))
          .value();
  const auto gaps = find_gaps(copper, 1270_um);
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_EQ(gaps[0].layer, LayerId{0});
}

// All edges of one against all of the other: slow and plain.
double brute_distance(const Island& a, const Island& b) {
  const auto edges = [](const Island& island) {
    std::vector<Segment> out;
    for (std::size_t p = 0; p < island.pieces(); ++p) {
      const auto add = [&out](const Contour& c) {
        for (std::size_t i = 0; i < c.size(); ++i) out.push_back({c[i], c[(i + 1) % c.size()]});
      };
      add(island.piece(p).outer);
      for (const Contour& hole : island.piece(p).holes) add(hole);
    }
    return out;
  };
  double least = 1e18;
  const std::vector<Segment> others = edges(b);
  for (const Segment& s : edges(a)) {
    for (const Segment& o : others) least = std::min(least, closest(s, o).distance_nm);
  }
  return least;
}

using Pairs = std::map<std::pair<std::size_t, std::size_t>, double>;

Pairs brute_pairs(const Copper& copper, double window) {
  Pairs out;
  for (std::size_t a = 0; a < copper.islands.size(); ++a) {
    for (std::size_t b = a + 1; b < copper.islands.size(); ++b) {
      const double d = brute_distance(copper.islands[a], copper.islands[b]);
      if (d <= window) out[{a, b}] = d;
    }
  }
  return out;
}

TEST(Gaps, AreThoseOfAllPairsOfEdges) {
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    SCOPED_TRACE(seed);
    const Copper copper = extract(test::random_objects(seed, {.objects = 30, .clear_share = 0.1}));
    Pairs expected = brute_pairs(copper, 1270e3);
    for (const Gap& gap : find_gaps(copper, 1270_um)) {
      const auto it = expected.find({index(gap.a), index(gap.b)});
      ASSERT_NE(it, expected.end());
      EXPECT_NEAR(gap.distance_nm, it->second, 1);
      EXPECT_NEAR(distance_nm(gap.on_a, gap.on_b), gap.distance_nm, 2);
      EXPECT_LE(off(gap, gap.middle()), 100e3);
      expected.erase(it);
    }
    EXPECT_TRUE(expected.empty());
  }
}

TEST(Gaps, OnAAndOnBLieOnTheirIslands) {
  const Copper copper = extract(test::random_objects(5, {}));
  const IslandIndex where(copper);
  for (const Gap& gap : find_gaps(copper, 1270_um)) {
    for (const Facing& f : gap.facings) {
      EXPECT_EQ(where.near(gap.layer, f.on_a, 2_nm), std::vector<IslandId>{gap.a});
      EXPECT_EQ(where.near(gap.layer, f.on_b, 2_nm), std::vector<IslandId>{gap.b});
    }
  }
}

// A local minimum of the distance, found by walking both outlines finely, must be near a path.
TEST(Gaps, EveryLocalMinimumLiesWithinAMillimetreOfAPath) {
  for (std::uint32_t seed = 1; seed <= 8; ++seed) {
    SCOPED_TRACE(seed);
    const Copper copper = extract(test::random_objects(seed, {.objects = 30}));
    const IslandIndex where(copper);
    for (const Gap& gap : find_gaps(copper, 1270_um)) {
      const Island& a = copper.island(gap.a);
      const Island& b = copper.island(gap.b);
      for (std::size_t i = 0; i < a.outline.outer.size(); ++i) {
        const Position p = a.outline.outer[i];
        Closest best{1e18, {}, {}};
        for (std::size_t j = 0; j < b.outline.outer.size(); ++j) {
          const Segment s{b.outline.outer[j], b.outline.outer[(j + 1) % b.outline.outer.size()]};
          const Closest c = closest(p, s);
          if (c.distance_nm < best.distance_nm) best = c;
        }
        const Position middle{(p.x + best.on_second.x) / 2, (p.y + best.on_second.y) / 2};
        if (best.distance_nm > 1270e3 || where.at(gap.layer, middle)) continue;
        EXPECT_LE(off(gap, middle), 1e6);
      }
    }
  }
}

std::vector<double> distances(const std::vector<Gap>& gaps) {
  std::vector<double> out;
  for (const Gap& g : gaps) out.push_back(g.distance_nm);
  return out;
}
double whole_weight(const std::vector<Gap>& gaps) {
  double sum = 0;
  for (const Gap& g : gaps) sum += g.weight;
  return sum;
}

TEST(Gaps, AreTheSameTurnedMirroredShiftedAndShuffled) {
  for (std::uint32_t seed = 11; seed <= 14; ++seed) {
    SCOPED_TRACE(seed);
    const std::vector<Object> objects = test::random_objects(seed, {});
    const auto plain = gaps_of(objects);
    for (const test::Move& move : {test::Move{true, false, {}}, test::Move{false, true, {}},
                                   test::Move{true, true, {-7'000'001, 12'345}}}) {
      std::vector<Object> other = test::moved(objects, move);
      std::reverse(other.begin(), other.end());
      const auto gaps = gaps_of(std::move(other));
      ASSERT_EQ(gaps.size(), plain.size());
      for (std::size_t i = 0; i < gaps.size(); ++i) {
        EXPECT_NEAR(gaps[i].distance_nm, plain[i].distance_nm,
                    2);  // crossings are rounded elsewhere
      }
      EXPECT_NEAR(whole_weight(gaps) / whole_weight(plain), 1, 0.02);
    }
  }
}

TEST(Gaps, TwoCopiesApartHaveTwiceTheGaps) {
  std::vector<Object> objects = test::random_objects(3, {});
  const auto one = gaps_of(objects);
  for (const Object& o : test::moved(objects, {false, false, position_mm(60, 0)}))
    objects.push_back(o);
  const auto two = gaps_of(std::move(objects));
  ASSERT_EQ(two.size(), 2 * one.size());
  EXPECT_NEAR(whole_weight(two) / whole_weight(one), 2, 1e-6);
  for (std::size_t i = 0; i < one.size(); ++i)
    EXPECT_NEAR(distances(two)[2 * i], distances(one)[i], 1e-6);
}

TEST(Gaps, AscendByDistanceThenIds) {
  const auto gaps = gaps_of(test::random_objects(2, {.objects = 60, .grid_mm = 0.5}));
  ASSERT_GT(gaps.size(), 10U);
  for (std::size_t i = 1; i < gaps.size(); ++i) {
    EXPECT_LT(std::tie(gaps[i - 1].distance_nm, gaps[i - 1].a, gaps[i - 1].b),
              std::tie(gaps[i].distance_nm, gaps[i].a, gaps[i].b));
    EXPECT_LT(gaps[i].a, gaps[i].b);
  }
}

// Two squares of 1 mm, 2 mm apart; the middle between them is (2, 0.5) on layer 0.
std::vector<Gap> two_apart(std::vector<WideWindow> wide) {
  return find_gaps(extract({dark(rectangle(0, 0, 1, 1)), dark(rectangle(3, 0, 4, 1))}), 1270_um,
                   wide);
}

TEST(Gaps, AWiderWindowCountsWhereItIsDeclared) {
  EXPECT_TRUE(two_apart({}).empty());
  EXPECT_TRUE(two_apart({{position_mm(2, 4), 2900_um, 3_mm}}).empty());
  const auto gaps = two_apart({{position_mm(2, 4), 3100_um, 3_mm}});
  ASSERT_EQ(gaps.size(), 1U);
  EXPECT_EQ(gaps[0].distance_nm, 2e6);
  // Only its upper 0.1 mm lies within 3.1 mm of the place.
  EXPECT_LT(gaps[0].facings[0].length_nm, 0.25e6);
  EXPECT_EQ(two_apart({{position_mm(2, 0.5), 2_mm, 3_mm}})[0].facings[0].length_nm, 1e6);
  EXPECT_TRUE(two_apart({{position_mm(2, 0.5), 2_mm, 1900_um}}).empty());
}

}  // namespace
}  // namespace isthmus::copper
