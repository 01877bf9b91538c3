// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/geometry.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus {
namespace {

__extension__ using Wide = __int128;

Wide cross(Position a, Position b, Position c) {
  return static_cast<Wide>(b.x - a.x) * (c.y - a.y) - static_cast<Wide>(b.y - a.y) * (c.x - a.x);
}

bool within_box(Position p, Position a, Position b) {
  return std::min(a.x, b.x) <= p.x && p.x <= std::max(a.x, b.x) && std::min(a.y, b.y) <= p.y &&
         p.y <= std::max(a.y, b.y);
}

}  // namespace

void Box::add(Position p) {
  lo = {std::min(lo.x, p.x), std::min(lo.y, p.y)};
  hi = {std::max(hi.x, p.x), std::max(hi.y, p.y)};
}

void Box::add(const Box& b) {
  if (b.empty()) return;
  add(b.lo);
  add(b.hi);
}

Box Box::grown(Nanometres by) const {
  if (empty()) return *this;
  return {{lo.x - by.value, lo.y - by.value}, {hi.x + by.value, hi.y + by.value}};
}

bool Box::contains(Position p) const {
  return lo.x <= p.x && p.x <= hi.x && lo.y <= p.y && p.y <= hi.y;
}

bool Box::overlaps(const Box& o) const {
  return lo.x <= o.hi.x && o.lo.x <= hi.x && lo.y <= o.hi.y && o.lo.y <= hi.y;
}

Position Box::centre() const { return {lo.x + (hi.x - lo.x) / 2, lo.y + (hi.y - lo.y) / 2}; }

Box box_of(const Contour& c) {
  Box box;
  for (Position p : c) box.add(p);
  return box;
}

int orientation(Position a, Position b, Position c) {
  const Wide v = cross(a, b, c);
  return v > 0 ? 1 : v < 0 ? -1 : 0;
}

double signed_area_nm2(const Contour& c) {
  Wide twice = 0;
  for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++) {
    twice += static_cast<Wide>(c[j].x) * c[i].y - static_cast<Wide>(c[i].x) * c[j].y;
  }
  return static_cast<double>(twice) / 2;
}

double area_nm2(const Polygon& p) {
  double area = std::abs(signed_area_nm2(p.outer));
  for (const Contour& hole : p.holes) area -= std::abs(signed_area_nm2(hole));
  return area;
}

Where locate(Position p, const Contour& c) {
  bool inside = false;
  for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++) {
    const Position a = c[j], b = c[i];
    const bool above_a = a.y > p.y, above_b = b.y > p.y;
    // Most edges lie wholly above, below or on one side: the exact product is for the others.
    if ((above_a && above_b) || (a.y < p.y && b.y < p.y) || (a.x < p.x && b.x < p.x)) continue;
    if (a.x > p.x && b.x > p.x) {
      inside = inside != (above_a != above_b);
      continue;
    }
    const int side = orientation(a, b, p);
    if (side == 0 && within_box(p, a, b)) return Where::boundary;
    if (above_a != above_b && (side > 0) == (b.y > a.y)) inside = !inside;
  }
  return inside ? Where::inside : Where::outside;
}

Where locate(Position p, const Polygon& polygon) {
  const Where outer = locate(p, polygon.outer);
  if (outer != Where::inside) return outer;
  for (const Contour& hole : polygon.holes) {
    const Where in_hole = locate(p, hole);
    if (in_hole == Where::boundary) return Where::boundary;
    if (in_hole == Where::inside) return Where::outside;
  }
  return Where::inside;
}

double distance_nm(Position a, Position b) {
  return std::hypot(static_cast<double>(a.x - b.x), static_cast<double>(a.y - b.y));
}

Closest closest(Position p, const Segment& s) {
  const double dx = static_cast<double>(s.b.x - s.a.x), dy = static_cast<double>(s.b.y - s.a.y);
  const double length2 = dx * dx + dy * dy;
  Position on = s.a;
  if (length2 > 0) {
    const double px = static_cast<double>(p.x - s.a.x), py = static_cast<double>(p.y - s.a.y);
    const double t = std::clamp((px * dx + py * dy) / length2, 0.0, 1.0);
    on = {s.a.x + std::llround(t * dx), s.a.y + std::llround(t * dy)};
    if (orientation(s.a, s.b, p) == 0 && within_box(p, s.a, s.b)) on = p;
  }
  return {distance_nm(p, on), p, on};
}

bool crosses_or_touches(const Segment& a, const Segment& b) {
  const int o1 = orientation(a.a, a.b, b.a), o2 = orientation(a.a, a.b, b.b);
  const int o3 = orientation(b.a, b.b, a.a), o4 = orientation(b.a, b.b, a.b);
  if (o1 * o2 < 0 && o3 * o4 < 0) return true;
  return (o1 == 0 && within_box(b.a, a.a, a.b)) || (o2 == 0 && within_box(b.b, a.a, a.b)) ||
         (o3 == 0 && within_box(a.a, b.a, b.b)) || (o4 == 0 && within_box(a.b, b.a, b.b));
}

Closest closest(const Segment& a, const Segment& b) {
  if (crosses_or_touches(a, b)) {
    const double ax = static_cast<double>(a.b.x - a.a.x), ay = static_cast<double>(a.b.y - a.a.y);
    const double bx = static_cast<double>(b.b.x - b.a.x), by = static_cast<double>(b.b.y - b.a.y);
    const double denominator = ax * by - ay * bx;
    if (denominator != 0) {
      const double t =
          (static_cast<double>(b.a.x - a.a.x) * by - static_cast<double>(b.a.y - a.a.y) * bx) /
          denominator;
      const Position at{a.a.x + std::llround(t * ax), a.a.y + std::llround(t * ay)};
      return {0, at, at};
    }
  }
  Closest best = closest(a.a, b);
  const Closest second = closest(a.b, b);
  if (second.distance_nm < best.distance_nm) best = second;
  for (Position p : {b.a, b.b}) {
    Closest c = closest(p, a);
    if (c.distance_nm < best.distance_nm) best = {c.distance_nm, c.on_second, c.on_first};
  }
  return best;
}

}  // namespace isthmus
