// SPDX-License-Identifier: Apache-2.0
// Shapes that Gerber objects are made of: circles, capsules, arcs, swept pens.
#pragma once

#include <vector>

#include "formats/gerber/clip.hpp"
#include "isthmus/base/geometry.hpp"

namespace isthmus::formats::gerber {

// Before rounding to the grid; nanometres.
struct Point {
  double x{}, y{};
};
using Path = std::vector<Point>;

// Largest distance between a curve and its chords; the rest of the micrometre is for rounding.
inline constexpr double kChordError = 995.0;

struct SinCos {
  double sin{}, cos{};
};
SinCos sin_cos_degrees(double degrees);  // exact at multiples of 90
Point rotated(Point p, SinCos turn);     // about the origin, counter-clockwise

// Chords of a whole circle that stay within `error`: a multiple of four, at least eight.
int chord_count(double radius, double error = kChordError);

// Rounds, drops repeated points. Fewer than three left: empty.
Contour to_contour(const Path& path);
bool is_convex(const Contour& contour);  // and simple, either direction; collinear points allowed
// One contour as polygons: directly when convex, else by fill(). Empty when it has no area.
Polygons filled(Contour contour);

Path circle(Point centre, double radius, double error = kChordError);  // counter-clockwise
Path rectangle(Point centre, double width, double height);
Path obround(Point centre, double width, double height, double error = kChordError);
Path regular_polygon(Point centre, double diameter, int corners, double degrees);

// The image of a round pen moved from a to b: exact width, end caps chopped.
// `unit` is unit_circle(chord_count(radius)).
Contour capsule(Position a, Position b, double radius, const Path& unit);
Path unit_circle(int chords);

struct Arc {
  Point centre;
  double start{}, sweep{};   // radians; sweep > 0 counter-clockwise, |sweep| <= 2 pi
  double radius{}, drift{};  // radius at the start, and how much it grows to the end
};
// The arc from `from` to `to` about `centre`; a whole circle when they coincide.
Arc arc_about(Position from, Position to, Point centre, bool counter_clockwise);
// Centre line of the arc, ends exact, fine enough for an edge `outset` outside it.
std::vector<Position> chop(const Arc& arc, Position from, Position to, double outset);
// The image of a round pen moved along the arc.
Polygons thick_arc(const Arc& arc, Position from, Position to, double pen_radius);

// The image of any shape moved along the chords of `spine` (at least one point).
Polygons sweep(const Polygons& pen, const std::vector<Position>& spine);

Contour convex_hull(std::vector<Position> points);
// Least distance between two parallel lines that hold the shape between them.
double least_width(const Polygons& shape);
// Extent of the shape across the direction from a to b.
double width_across(const Polygons& shape, Position a, Position b);

void move(Polygons& shape, Position by);
Box box_of(const Polygons& shape);
std::size_t vertex_count(const Polygons& shape);

// Mirror, then scale, then rotate: the order of GLF 2023.08, 4.9.
struct Transform {
  bool mirror_x{false}, mirror_y{false};  // mirror_x: x becomes -x
  double degrees{0}, scale{1};
  [[nodiscard]] bool plain() const { return !mirror_x && !mirror_y && degrees == 0 && scale == 1; }
  [[nodiscard]] Position apply(Position p) const;
  [[nodiscard]] Polygons apply(const Polygons& shape) const;
};

}  // namespace isthmus::formats::gerber
