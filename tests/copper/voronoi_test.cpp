// SPDX-License-Identifier: Apache-2.0
// Integers for the Voronoi builder. Oracle: the diagram with Boost's own, bit by bit.
#include "copper/conductors/voronoi.hpp"

#include <gtest/gtest.h>

#include <boost/polygon/segment_data.hpp>
#include <boost/polygon/voronoi.hpp>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace isthmus::copper {
namespace {

struct Point {
  int x{}, y{};
};
using Ring = std::vector<Point>;

// As a round pad comes out of its chords: corners on a circle, rounded to nanometres.
Ring round_pad(double x, double y, double radius, int corners) {
  Ring ring;
  for (int k = 0; k < corners; ++k) {
    const double a = 2 * std::numbers::pi * k / corners;
    ring.push_back({static_cast<int>(std::lround(x + radius * std::cos(a))),
                    static_cast<int>(std::lround(y + radius * std::sin(a)))});
  }
  return ring;
}

// A track with round ends.
Ring oblong(double x, double y, double length, double radius, double turn, int corners) {
  Ring ring;
  for (int k = 0; k < corners; ++k) {
    const double a = 2 * std::numbers::pi * (k + 0.5) / corners - std::numbers::pi / 2;
    const double px = radius * std::cos(a) + (k < corners / 2 ? length : 0),
                 py = radius * std::sin(a);
    ring.push_back({static_cast<int>(std::lround(x + px * std::cos(turn) - py * std::sin(turn))),
                    static_cast<int>(std::lround(y + px * std::sin(turn) + py * std::cos(turn)))});
  }
  return ring;
}

void expect_the_same(const std::vector<Ring>& rings) {
  using boost::polygon::point_data;
  std::vector<boost::polygon::segment_data<int>> segments;
  VoronoiBuilder builder;
  for (const Ring& ring : rings) {
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Point p = ring[i], q = ring[(i + 1) % ring.size()];
      segments.emplace_back(point_data<int>(p.x, p.y), point_data<int>(q.x, q.y));
      builder.insert_segment(p.x, p.y, q.x, q.y);
    }
  }
  boost::polygon::voronoi_diagram<double> theirs;
  boost::polygon::construct_voronoi(segments.begin(), segments.end(), &theirs);
  VoronoiDiagram ours;
  builder.construct(&ours);
  ASSERT_EQ(ours.num_cells(), theirs.num_cells());
  ASSERT_EQ(ours.num_edges(), theirs.num_edges());
  ASSERT_EQ(ours.num_vertices(), theirs.num_vertices());
  for (std::size_t i = 0; i < ours.num_vertices(); ++i) {
    ASSERT_EQ(ours.vertices()[i].x(), theirs.vertices()[i].x()) << i;
    ASSERT_EQ(ours.vertices()[i].y(), theirs.vertices()[i].y()) << i;
  }
  for (std::size_t i = 0; i < ours.num_edges(); ++i) {
    ASSERT_EQ(ours.edges()[i].cell()->source_index(), theirs.edges()[i].cell()->source_index());
    ASSERT_EQ(ours.edges()[i].vertex0() != nullptr, theirs.edges()[i].vertex0() != nullptr);
  }
}

TEST(Voronoi, RoundPadsAreThoseOfBoostsIntegers) {
  for (const double at : {0.0, 3e6, 1.2e8, -3.4e8}) {
    for (const int corners : {12, 34, 90})
      expect_the_same({round_pad(at, 0.4 * at, 750'000, corners)});
  }
}

TEST(Voronoi, TracksAtAnyAngleAreThoseOfBoostsIntegers) {
  for (int k = 0; k < 24; ++k)
    expect_the_same({oblong(9.1e7, 4.3e7, 5e6, 100'000, k * std::numbers::pi / 24, 20)});
}

// A pour with round clearances, at random places and on a pattern.
TEST(Voronoi, PoursWithClearancesAreThoseOfBoostsIntegers) {
  std::mt19937_64 random{5};
  const auto shift = [&] { return static_cast<double>(random() % 300'000); };
  for (const bool on_a_pattern : {true, false}) {
    std::vector<Ring> rings{{{0, 0}, {20'000'000, 0}, {20'000'000, 16'000'000}, {0, 16'000'000}}};
    for (int i = 0; i < 7; ++i) {
      for (int k = 0; k < 5; ++k) {
        const double x = 2.54e6 * (i + 1) + (on_a_pattern ? 0 : shift()),
                     y = 2.54e6 * (k + 1) + (on_a_pattern ? 0 : shift());
        Ring hole = round_pad(x, y, i % 2 == 0 ? 900'000 : 550'000, 30);
        rings.emplace_back(hole.rbegin(), hole.rend());
      }
    }
    expect_the_same(rings);
  }
}

using Theirs = boost::polygon::detail::extended_int<64>;

void expect_alike(const voronoi::Integer& ours, const Theirs& theirs) {
  EXPECT_EQ(ours.p(), theirs.p());
  EXPECT_EQ(is_neg(ours), is_neg(theirs));
  EXPECT_EQ(is_pos(ours), is_pos(theirs));
  EXPECT_EQ(is_zero(ours), is_zero(theirs));
}

// Sums, differences and products of numbers of 1 to some 900 bits, near each other and apart.
TEST(VoronoiInteger, CalculatesAsBoosts) {
  std::mt19937_64 random{11};
  const auto number = [&] {
    const auto v = static_cast<std::int64_t>(random()) >> (random() % 62);
    return std::pair{voronoi::Integer(v), Theirs(boost::polygon::detail::int64{v})};
  };
  for (int k = 0; k < 20'000; ++k) {
    auto [a, their_a] = number();
    auto [b, their_b] = number();
    for (std::size_t step = random() % 8; step > 0; --step) {
      const auto [c, their_c] = number();
      if (random() % 2 == 0) std::swap(a, b), std::swap(their_a, their_b);
      a = a * c, their_a = their_a * their_c;
      if (random() % 2 == 0) a = a - b, their_a = their_a - their_b;
      if (random() % 4 == 0) b = a + c, their_b = their_a + their_c;
    }
    expect_alike(a, their_a);
    expect_alike(a + b, their_a + their_b);
    expect_alike(a - b, their_a - their_b);
    expect_alike(b - a, their_b - their_a);
    expect_alike(a * b, their_a * their_b);
    expect_alike(-a, -their_a);
    expect_alike(a - a, their_a - their_a);
    expect_alike(a * 2, their_a * 2);
  }
  for (const std::int64_t v : {std::int64_t{0}, std::int64_t{1}, std::int64_t{-1},
                               std::int64_t{1} << 32, -(std::int64_t{1} << 40)})
    expect_alike(v, Theirs(boost::polygon::detail::int64{v}));
}

// Where a carry or borrow runs through limbs that are all ones, or all zeros.
TEST(VoronoiInteger, CarriesThroughEveryLimb) {
  voronoi::Integer power(1);
  Theirs their_power(1);
  for (int bits = 32; bits < 900; bits += 32) {
    const std::int64_t word = std::int64_t{1} << 32;
    power = power * word, their_power = their_power * Theirs(boost::polygon::detail::int64{word});
    const voronoi::Integer ones = power - 1;
    const Theirs their_ones = their_power - Theirs(1);
    expect_alike(ones, their_ones);
    expect_alike(ones + 1, their_power);
    expect_alike(power + -1, their_ones);
    expect_alike(power - ones, Theirs(1));
    expect_alike(ones * ones, their_ones * their_ones);
    expect_alike(ones - power * 3, their_ones - their_power * 3);
  }
}

using TheirExtended = boost::polygon::detail::extended_exponent_fpt<double>;

// Oracle: Boost's numbers of fraction and exponent. Sizes of up to 2 to the 2000th, many of them
// near where ours change from a plain double to one.
TEST(VoronoiExtended, CalculatesAsBoosts) {
  std::mt19937_64 random{13};
  const auto number = [&] {
    const double v = std::ldexp(static_cast<double>(random()) - 9.2e18, -64);
    const int near = static_cast<int>(random() % 9) * 100 - 400;
    const int e = near + static_cast<int>(random() % 120) - 60 + (random() % 9 == 0 ? 1000 : 0);
    return std::pair{voronoi::Extended(v, e), TheirExtended(v, e)};
  };
  // Small enough for a double, by a power of two that both are divided by.
  const auto expect_alike = [](const voronoi::Extended& ours, const TheirExtended& theirs) {
    for (const int e : {-2000, -1000, 0, 1000, 2000})
      EXPECT_EQ((ours * voronoi::Extended(1, e)).d(), (theirs * TheirExtended(1, e)).d()) << e;
    EXPECT_EQ(is_pos(ours), is_pos(theirs));
    EXPECT_EQ(is_neg(ours), is_neg(theirs));
    EXPECT_EQ(is_zero(ours), is_zero(theirs));
  };
  for (int k = 0; k < 50'000; ++k) {
    const auto [a, their_a] = number();
    const auto [b, their_b] = number();
    expect_alike(a, their_a);
    expect_alike(a + b, their_a + their_b);
    expect_alike(a - b, their_a - their_b);
    expect_alike(a * b, their_a * their_b);
    expect_alike(a / b, their_a / their_b);
    expect_alike(get_sqrt(a * a), get_sqrt(their_a * their_a));
    expect_alike(get_sqrt(is_neg(a) ? -a : a), get_sqrt(is_neg(their_a) ? -their_a : their_a));
    expect_alike(a - a, their_a - their_a);
  }
  expect_alike(voronoi::Extended(0.0), TheirExtended(0.0));
}

}  // namespace
}  // namespace isthmus::copper
