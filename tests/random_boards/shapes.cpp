// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/shapes.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace isthmus::random_boards {

Pt operator+(Pt a, Pt b) { return {a.x + b.x, a.y + b.y}; }
Pt operator-(Pt a, Pt b) { return {a.x - b.x, a.y - b.y}; }
Pt operator*(double k, Pt a) { return {k * a.x, k * a.y}; }
double length(Pt a) { return std::hypot(a.x, a.y); }

Shape stroke(std::size_t layer, Pt a, Pt b, double width) {
  Shape s;
  s.kind = Shape::Kind::stroke;
  s.layer = layer;
  s.a = a;
  s.b = b;
  s.width = width;
  return s;
}
Shape disc(std::size_t layer, Pt at, double diameter) {
  Shape s = stroke(layer, at, at, diameter);
  s.kind = Shape::Kind::disc;
  return s;
}
Shape box(std::size_t layer, Pt lo, Pt hi) {
  Shape s = stroke(layer, lo, hi, 0);
  s.kind = Shape::Kind::box;
  return s;
}

namespace {

struct Line {
  Pt a, b;
};
double cross(Pt a, Pt b) { return a.x * b.y - a.y * b.x; }
double dot(Pt a, Pt b) { return a.x * b.x + a.y * b.y; }

Pt foot(Pt p, const Line& l) {
  const Pt d = l.b - l.a;
  const double n = dot(d, d);
  const double t = n > 0 ? std::clamp(dot(p - l.a, d) / n, 0.0, 1.0) : 0;
  return l.a + t * d;
}

bool crosses(const Line& l, const Line& m, Pt& at) {
  const Pt d = l.b - l.a, e = m.b - m.a;
  const double n = cross(d, e);
  if (std::fabs(n) < 1e-12) return false;
  const double t = cross(m.a - l.a, e) / n, u = cross(m.a - l.a, d) / n;
  at = l.a + t * d;
  return t >= 0 && t <= 1 && u >= 0 && u <= 1;
}

void better(Closest& best, Pt p, Pt q) {
  const double d = length(p - q);
  if (d < best.distance) best = {d, p, q};
}

Closest between(const Line& l, const Line& m) {
  Pt at;
  if (crosses(l, m, at)) return {0, at, at};
  Closest best{INFINITY, {}, {}};
  better(best, l.a, foot(l.a, m));
  better(best, l.b, foot(l.b, m));
  better(best, foot(m.a, l), m.a);
  better(best, foot(m.b, l), m.b);
  return best;
}

std::vector<Line> lines_of(const Shape& s) {
  if (s.kind != Shape::Kind::box) return {{s.a, s.b}};
  const Pt c{s.b.x, s.a.y}, d{s.a.x, s.b.y};
  return {{s.a, c}, {c, s.b}, {s.b, d}, {d, s.a}};
}

bool in_box(Pt p, const Shape& s) {
  return s.kind == Shape::Kind::box && p.x >= s.a.x && p.x <= s.b.x && p.y >= s.a.y && p.y <= s.b.y;
}

// A ring in the middle of a clearing: measured where no spoke runs, at 45 degrees.
bool in_clearing(const Shape& ring, const Shape& pour, Closest& found) {
  if (ring.kind != Shape::Kind::disc) return false;
  for (const Shape::Clearing& c : pour.clearings) {
    if (length(c.at - ring.a) > 1e-6) continue;
    const Pt way{std::sqrt(0.5), std::sqrt(0.5)};
    found = {c.radius - ring.width / 2, ring.a + (ring.width / 2) * way, c.at + c.radius * way};
    return true;
  }
  return false;
}

}  // namespace

Closest closest(const Shape& first, const Shape& second) {
  Closest best{INFINITY, {}, {}};
  if (in_clearing(first, second, best)) return best;
  if (in_clearing(second, first, best)) return {best.distance, best.on_second, best.on_first};
  if (in_box(first.a, second)) return {0, first.a, first.a};
  if (in_box(second.a, first)) return {0, second.a, second.a};
  for (const Line& l : lines_of(first)) {
    for (const Line& m : lines_of(second)) {
      const Closest c = between(l, m);
      if (c.distance < best.distance) best = c;
    }
  }
  if (best.distance <= 0) return best;
  const Pt way = (1 / best.distance) * (best.on_second - best.on_first);
  best.on_first = best.on_first + (first.width / 2) * way;
  best.on_second = best.on_second - (second.width / 2) * way;
  best.distance -= (first.width + second.width) / 2;
  return best;
}

double distance(Pt p, const Shape& shape) {
  if (in_box(p, shape)) {
    for (const Shape::Clearing& c : shape.clearings) {
      if (const double d = length(p - c.at); d < c.radius) return c.radius - d;
    }
    return 0;
  }
  double best = INFINITY;
  for (const Line& l : lines_of(shape)) best = std::min(best, length(p - foot(p, l)));
  return std::max(0.0, best - shape.width / 2);
}

}  // namespace isthmus::random_boards
