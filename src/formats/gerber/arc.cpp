// SPDX-License-Identifier: Apache-2.0
// Arcs, and pens moved along lines and arcs.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "formats/gerber/shape.hpp"

namespace isthmus::formats::gerber {
namespace {

constexpr double kPi = std::numbers::pi;

Point at(const Arc& arc, double share, double outset) {
  const double angle = arc.start + arc.sweep * share;
  const double radius = arc.radius + arc.drift * share + outset;
  return {arc.centre.x + radius * std::cos(angle), arc.centre.y + radius * std::sin(angle)};
}

int chords_along(const Arc& arc, double outset) {
  const double radius = std::max(arc.radius, arc.radius + arc.drift) + outset;
  const double chords = chord_count(radius) * std::abs(arc.sweep) / (2 * kPi);
  return std::max(1, static_cast<int>(std::ceil(chords - 1e-9)));
}

Polygons from_path(const Path& path) {
  Contour contour = to_contour(path);
  if (contour.empty()) return {};
  return {{std::move(contour), {}}};
}

void append(Polygons& all, Polygons more) {
  all.insert(all.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

// Band between the two edges of a counter-clockwise arc, with round caps.
Path band(const Arc& arc, Position from, Position to, double pen_radius) {
  const int chords = chords_along(arc, pen_radius);
  const Path unit = unit_circle(chord_count(pen_radius));
  const std::size_t n = unit.size();
  Path path;
  const auto cap = [&](Position centre, double angle) {
    for (std::size_t i = 1; i < n / 2; ++i) {
      const Point u = rotated(unit[i], {std::sin(angle), std::cos(angle)});
      path.push_back({static_cast<double>(centre.x) + pen_radius * u.x,
                      static_cast<double>(centre.y) + pen_radius * u.y});
    }
  };
  for (int i = 0; i <= chords; ++i) path.push_back(at(arc, double(i) / chords, pen_radius));
  cap(to, arc.start + arc.sweep);
  for (int i = chords; i >= 0; --i) path.push_back(at(arc, double(i) / chords, -pen_radius));
  cap(from, arc.start + kPi);
  return path;
}

Polygons ring(const Arc& arc, double pen_radius) {
  Polygons result = from_path(circle(arc.centre, arc.radius + pen_radius));
  if (result.empty()) return result;
  Contour inner = to_contour(circle(arc.centre, arc.radius - pen_radius));
  std::reverse(inner.begin(), inner.end());
  if (!inner.empty()) result[0].holes.push_back(std::move(inner));
  return result;
}

// When the pen reaches over the centre, every place of it holds the centre, and so the image is
// seen whole from there: the outer edge, then the end discs up to the ray halfway between the two
// ends.
Path fan(const Arc& arc, Position from, Position to, double pen_radius) {
  const int chords = chords_along(arc, pen_radius);
  Path path;
  for (int i = 0; i <= chords; ++i) path.push_back(at(arc, double(i) / chords, pen_radius));
  const double half_gap = kPi - arc.sweep / 2;
  const double across = arc.radius * std::sin(half_gap);
  const double reach = arc.radius * std::cos(half_gap) +
                       std::sqrt(std::max(0.0, pen_radius * pen_radius - across * across));
  // The angle about the end disc's own centre at which its edge meets that ray.
  const double last =
      std::atan2(reach * std::sin(half_gap), reach * std::cos(half_gap) - arc.radius);
  const int steps =
      std::max(1, static_cast<int>(std::ceil(chord_count(pen_radius) * last / (2 * kPi))));
  const auto cap = [&](Position centre, double direction, int i) {
    const double angle = direction + last * i / steps;
    path.push_back({static_cast<double>(centre.x) + pen_radius * std::cos(angle),
                    static_cast<double>(centre.y) + pen_radius * std::sin(angle)});
  };
  for (int i = 1; i <= steps; ++i) cap(to, arc.start + arc.sweep, i);
  for (int i = -steps; i < 0; ++i) cap(from, arc.start, i);
  return path;
}

// Pieces that follow each other overlap much: a few at a time, so that crossings stay few.
Polygons unite_neighbours(Polygons pieces) {
  constexpr std::size_t kAtOnce = 8;
  while (pieces.size() > kAtOnce) {
    Polygons fewer;
    for (std::size_t i = 0; i < pieces.size(); i += kAtOnce) {
      const auto first = pieces.begin() + static_cast<std::ptrdiff_t>(i);
      const auto count = std::min(kAtOnce, pieces.size() - i);
      append(fewer, unite({first, first + static_cast<std::ptrdiff_t>(count)}));
    }
    if (fewer.size() >= pieces.size()) break;
    pieces = std::move(fewer);
  }
  return unite(pieces);
}

// Half the error for the chords of the centre line, half for the pen.
Polygons capsules_along(const Arc& arc, Position from, Position to, double pen_radius) {
  const Path unit = unit_circle(chord_count(pen_radius, kChordError / 2));
  const std::vector<Position> spine = chop(arc, from, to, arc.radius);
  Polygons pieces;
  for (std::size_t i = 1; i < spine.size(); ++i) {
    Contour piece = capsule(spine[i - 1], spine[i], pen_radius, unit);
    if (!piece.empty()) pieces.push_back({std::move(piece), {}});
  }
  return unite_neighbours(std::move(pieces));
}

bool is_solid_convex(const Polygons& pen) {
  return pen.size() == 1 && pen[0].holes.empty() && is_convex(pen[0].outer);
}

void sweep_edges(Polygons& pieces, const Contour& contour, Position a, Position by) {
  for (std::size_t i = 0; i < contour.size(); ++i) {
    const Position p = contour[i] + a, q = contour[(i + 1) % contour.size()] + a;
    append(pieces, filled({p, q, q + by, p + by}));
  }
}

}  // namespace

Arc arc_about(Position from, Position to, Point centre, bool counter_clockwise) {
  const double fx = static_cast<double>(from.x) - centre.x;
  const double fy = static_cast<double>(from.y) - centre.y;
  const double tx = static_cast<double>(to.x) - centre.x;
  const double ty = static_cast<double>(to.y) - centre.y;
  Arc arc;
  arc.centre = centre;
  arc.radius = std::hypot(fx, fy);
  arc.drift = std::hypot(tx, ty) - arc.radius;
  arc.start = std::atan2(fy, fx);
  double sweep = std::atan2(ty, tx) - arc.start;
  if (from == to) {
    sweep = counter_clockwise ? 2 * kPi : -2 * kPi;
  } else if (counter_clockwise) {
    while (sweep <= 0) sweep += 2 * kPi;
  } else {
    while (sweep >= 0) sweep -= 2 * kPi;
  }
  arc.sweep = sweep;
  return arc;
}

std::vector<Position> chop(const Arc& arc, Position from, Position to, double outset) {
  const int chords = chords_along(arc, outset);
  std::vector<Position> line{from};
  line.reserve(static_cast<std::size_t>(chords) + 1);
  for (int i = 1; i < chords; ++i) {
    const Point p = at(arc, double(i) / chords, 0);
    line.push_back({std::llround(p.x), std::llround(p.y)});
  }
  line.push_back(to);
  return line;
}

Polygons thick_arc(const Arc& given, Position from, Position to, double pen_radius) {
  if (pen_radius <= 0) return {};
  Arc arc = given;
  if (arc.sweep < 0) {
    arc = {given.centre, given.start + given.sweep, -given.sweep, given.radius + given.drift,
           -given.drift};
    std::swap(from, to);
  }
  const double least = std::min(arc.radius, arc.radius + arc.drift);
  if (from == to && least > pen_radius) return ring(arc, pen_radius);
  if (from == to) return from_path(circle(arc.centre, arc.radius + pen_radius));
  if (least <= pen_radius && std::abs(arc.drift) < 10 * kChordError) {
    return filled(to_contour(fan(arc, from, to, pen_radius)));
  }
  if (least <= pen_radius) return capsules_along(arc, from, to, pen_radius);
  Contour contour = to_contour(band(arc, from, to, pen_radius));
  if (contour.empty()) return {};
  // The caps can only meet where the arc comes back to its start.
  const bool may_meet = arc.sweep > kPi && distance_nm(from, to) < 2 * pen_radius + 4;
  if (may_meet) return fill(contour);
  return {{std::move(contour), {}}};
}

Polygons sweep(const Polygons& pen, const std::vector<Position>& spine) {
  Polygons pieces;
  const bool solid = is_solid_convex(pen);
  const auto place = [&](Position where) {
    Polygons placed = pen;
    move(placed, where);
    return placed;
  };
  if (spine.size() == 1 || (spine.size() == 2 && spine[0] == spine[1])) return place(spine[0]);
  for (std::size_t i = 1; i < spine.size(); ++i) {
    const Position a = spine[i - 1], b = spine[i];
    if (solid) {
      std::vector<Position> points;
      for (const Position p : pen[0].outer) points.insert(points.end(), {p + a, p + b});
      Contour hull = convex_hull(std::move(points));
      if (!hull.empty()) pieces.push_back({std::move(hull), {}});
      continue;
    }
    // Whatever the pen passes over is under it at the start, or its edge comes by.
    Polygons step = place(a);
    append(step, place(b));
    for (const Polygon& polygon : pen) {
      sweep_edges(step, polygon.outer, a, b - a);
      for (const Contour& hole : polygon.holes) sweep_edges(step, hole, a, b - a);
    }
    append(pieces, unite(step));
  }
  if (pieces.size() == 1) return pieces;
  return unite_neighbours(std::move(pieces));
}

}  // namespace isthmus::formats::gerber
