// SPDX-License-Identifier: Apache-2.0
// The random boards' own plane geometry, in millimetres: strokes, discs, boxes, and boxes with round
// clearings. Shares nothing with src on purpose.
#pragma once

#include <cstddef>
#include <limits>
#include <vector>

namespace isthmus::random_boards {

inline constexpr std::size_t kNone = std::numeric_limits<std::size_t>::max();

struct Pt {
  double x{}, y{};
};
Pt operator+(Pt a, Pt b);
Pt operator-(Pt a, Pt b);
Pt operator*(double k, Pt a);
double length(Pt a);

struct Shape {
  enum class Kind { stroke, disc, box } kind{};
  std::size_t layer{};  // 0 top, 1 bottom
  Pt a, b;              // stroke: ends; disc: its middle twice; box: lower left, upper right
  double width{};       // of the stroke, of the disc; 0 for boxes
  struct Clearing {
    Pt at;
    double radius{};
  };
  std::vector<Clearing> clearings;       // round holes in a box
  std::size_t node{kNone}, edge{kNone};  // whose copper it is: one of the two
};

struct Closest {
  double distance{};  // between the outlines; 0 or less where they overlap
  Pt on_first, on_second;
};
// Layers are not compared. In a clearing only discs about the same middle are measured exactly;
// anything else there counts as touching.
Closest closest(const Shape& first, const Shape& second);
double distance(Pt p, const Shape& shape);  // 0 inside
Shape stroke(std::size_t layer, Pt a, Pt b, double width);
Shape disc(std::size_t layer, Pt at, double diameter);
Shape box(std::size_t layer, Pt lo, Pt hi);

}  // namespace isthmus::random_boards
