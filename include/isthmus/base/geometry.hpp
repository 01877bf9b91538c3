// SPDX-License-Identifier: Apache-2.0
// Plane geometry on integer nanometres. Raw integers inside a Position are nanometres, y up.
#pragma once

#include <cstdint>
#include <vector>

#include "isthmus/base/units.hpp"

namespace isthmus {

struct Position {
  std::int64_t x{};
  std::int64_t y{};
  auto operator<=>(const Position&) const = default;
};
constexpr Position operator+(Position a, Position b) { return {a.x + b.x, a.y + b.y}; }
constexpr Position operator-(Position a, Position b) { return {a.x - b.x, a.y - b.y}; }
inline Position position_mm(double x, double y) { return {from_mm(x).value, from_mm(y).value}; }

struct Segment {
  Position a, b;
  bool operator==(const Segment&) const = default;
};

// Closed contour; the last point is not repeated. >= 3 points unless said otherwise.
using Contour = std::vector<Position>;

// Outer contour counter-clockwise, holes clockwise, none crossing another (touching is allowed).
struct Polygon {
  Contour outer;
  std::vector<Contour> holes;
  bool operator==(const Polygon&) const = default;
};

// Half-open in spirit, closed in arithmetic: contains both corners. Empty when lo > hi.
struct Box {
  Position lo{INT64_MAX, INT64_MAX};
  Position hi{INT64_MIN, INT64_MIN};
  [[nodiscard]] bool empty() const { return lo.x > hi.x || lo.y > hi.y; }
  void add(Position p);
  void add(const Box& b);
  [[nodiscard]] Box grown(Nanometres by) const;
  [[nodiscard]] bool contains(Position p) const;
  [[nodiscard]] bool overlaps(const Box& o) const;
  [[nodiscard]] Position centre() const;
  bool operator==(const Box&) const = default;
};
Box box_of(const Contour& c);

// Sign of the cross product (b-a) x (c-a): +1 left turn, -1 right turn, 0 collinear. Exact (128
// bit). Laws: swapping two arguments negates; a cyclic shift keeps.
int orientation(Position a, Position b, Position c);

// Area, positive when counter-clockwise. Summed exactly (128 bit) and then rounded to a double once:
// within 1 part in 1e15. REQUIRES a point at least.
double signed_area_nm2(const Contour& c);
// The outer contour's less its holes', whichever way they run.
double area_nm2(const Polygon& p);

enum class Where { outside, boundary, inside };
// Exact; works for self-touching contours (even-odd).
Where locate(Position p, const Contour& c);
Where locate(Position p, const Polygon& polygon);

double distance_nm(Position a, Position b);

struct Closest {
  double distance_nm{};  // 0 when they touch or cross
  Position on_first, on_second;
};
// Rounding of the closest places: 0.5 nm per coordinate. Touching and crossing are decided exactly.
Closest closest(const Segment& a, const Segment& b);
Closest closest(Position p, const Segment& s);
bool crosses_or_touches(const Segment& a, const Segment& b);

}  // namespace isthmus
