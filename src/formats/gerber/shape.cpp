// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/shape.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "formats/gerber/loops.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus::formats::gerber {
namespace {

constexpr double kPi = std::numbers::pi;

double dot(Position u, Position v) {
  return static_cast<double>(u.x) * static_cast<double>(v.x) +
         static_cast<double>(u.y) * static_cast<double>(v.y);
}

Position rounded(Point p) { return {std::llround(p.x), std::llround(p.y)}; }

void drop_repeats(Contour& contour) {
  contour.erase(std::unique(contour.begin(), contour.end()), contour.end());
  while (contour.size() > 1 && contour.front() == contour.back()) contour.pop_back();
  if (contour.size() < 3) contour.clear();
}

}  // namespace

SinCos sin_cos_degrees(double degrees) {
  const double turn = std::fmod(degrees, 360.0);
  const double quarter = turn / 90.0;
  if (quarter == std::floor(quarter)) {
    switch ((static_cast<int>(quarter) + 4) % 4) {
      case 0:
        return {0, 1};
      case 1:
        return {1, 0};
      case 2:
        return {0, -1};
      default:
        return {-1, 0};
    }
  }
  const double radians = turn * kPi / 180.0;
  return {std::sin(radians), std::cos(radians)};
}

Point rotated(Point p, SinCos turn) {
  return {p.x * turn.cos - p.y * turn.sin, p.x * turn.sin + p.y * turn.cos};
}

int chord_count(double radius, double error) {
  if (radius <= 2 * error) return 8;
  // Sagitta of a chord over the angle 2 pi / n is radius * (1 - cos(pi / n)).
  const double n = kPi / std::acos(1 - error / radius);
  return std::max(8, 4 * static_cast<int>(std::ceil(n / 4)));
}

Contour to_contour(const Path& path) {
  Contour contour;
  contour.reserve(path.size());
  for (const Point p : path) contour.push_back(rounded(p));
  drop_repeats(contour);
  return contour;
}

bool is_convex(const Contour& contour) {
  const std::size_t n = contour.size();
  int turn = 0, x_changes = 0, last_x = 0;
  for (std::size_t i = 0; i <= n; ++i) {
    const Position a = contour[i % n], b = contour[(i + 1) % n], c = contour[(i + 2) % n];
    const int side = orientation(a, b, c);
    if (side != 0 && turn != 0 && side != turn) return false;
    if (side != 0) turn = side;
    if (side == 0 && dot(b - a, c - b) < 0) return false;
    // A convex contour changes its x direction twice; one that winds twice, more often.
    const int x = b.x > a.x ? 1 : b.x < a.x ? -1 : 0;
    if (x != 0 && last_x != 0 && x != last_x) ++x_changes;
    if (x != 0) last_x = x;
  }
  return turn != 0 && x_changes <= 2;
}

Polygons filled(Contour contour) {
  drop_repeats(contour);
  if (contour.empty()) return {};
  if (!is_convex(contour)) {
    auto simple = fill_simple(contour);
    return simple ? std::move(*simple) : fill(contour);
  }
  if (signed_area_nm2(contour) < 0) std::reverse(contour.begin(), contour.end());
  Polygons result(1);
  result[0].outer = std::move(contour);
  return result;
}

Path unit_circle(int chords) {
  ENSURE(chords >= 4 && chords % 4 == 0);
  Path unit;
  unit.reserve(static_cast<std::size_t>(chords));
  for (int i = 0; i < chords; ++i) {
    const SinCos turn = sin_cos_degrees(360.0 * i / chords);
    unit.push_back({turn.cos, turn.sin});
  }
  return unit;
}

Path circle(Point centre, double radius, double error) {
  Path path = unit_circle(chord_count(radius, error));
  for (Point& p : path) p = {centre.x + radius * p.x, centre.y + radius * p.y};
  return path;
}

Path rectangle(Point c, double width, double height) {
  const double x = width / 2, y = height / 2;
  return {{c.x - x, c.y - y}, {c.x + x, c.y - y}, {c.x + x, c.y + y}, {c.x - x, c.y + y}};
}

Path obround(Point c, double width, double height, double error) {
  const double radius = std::min(width, height) / 2;
  const double dx = width / 2 - radius, dy = height / 2 - radius;
  const Path unit = unit_circle(chord_count(radius, error));
  const std::size_t n = unit.size();
  Path path;
  path.reserve(n + 2);
  // Quarter by quarter; the point between two quarters belongs to both and is doubled.
  for (std::size_t quarter = 0; quarter < 4; ++quarter) {
    const double x = c.x + (quarter == 0 || quarter == 3 ? dx : -dx);
    const double y = c.y + (quarter < 2 ? dy : -dy);
    for (std::size_t i = quarter * n / 4; i <= (quarter + 1) * n / 4; ++i) {
      path.push_back({x + radius * unit[i % n].x, y + radius * unit[i % n].y});
    }
  }
  return path;
}

Path regular_polygon(Point c, double diameter, int corners, double degrees) {
  Path path;
  for (int i = 0; i < corners; ++i) {
    const SinCos turn = sin_cos_degrees(degrees + 360.0 * i / corners);
    path.push_back({c.x + diameter / 2 * turn.cos, c.y + diameter / 2 * turn.sin});
  }
  return path;
}

Contour capsule(Position a, Position b, double radius, const Path& unit) {
  const std::size_t n = unit.size();
  const double dx = static_cast<double>(b.x - a.x), dy = static_cast<double>(b.y - a.y);
  const double length = std::hypot(dx, dy);
  const double ux = length > 0 ? dx / length : 1, uy = length > 0 ? dy / length : 0;
  Contour contour;
  contour.reserve(n + 2);
  const auto add_half = [&](Position centre, std::size_t first) {
    for (std::size_t i = first; i <= first + n / 2; ++i) {
      const Point u = unit[i % n];
      contour.push_back(rounded({static_cast<double>(centre.x) + radius * (u.x * ux - u.y * uy),
                                 static_cast<double>(centre.y) + radius * (u.x * uy + u.y * ux)}));
    }
  };
  add_half(b, 3 * n / 4);
  add_half(a, n / 4);
  drop_repeats(contour);
  return contour;
}

Contour convex_hull(std::vector<Position> points) {
  std::sort(points.begin(), points.end());
  points.erase(std::unique(points.begin(), points.end()), points.end());
  if (points.size() < 3) return {};
  Contour hull;
  const auto half = [&hull](auto first, auto last) {
    const std::size_t start = hull.size();
    for (auto p = first; p != last; ++p) {
      while (hull.size() >= start + 2 && orientation(hull[hull.size() - 2], hull.back(), *p) <= 0) {
        hull.pop_back();
      }
      hull.push_back(*p);
    }
    hull.pop_back();
  };
  half(points.begin(), points.end());
  half(points.rbegin(), points.rend());
  if (hull.size() < 3) hull.clear();
  return hull;
}

double width_across(const Polygons& shape, Position a, Position b) {
  const double length = distance_nm(a, b);
  if (length == 0 || shape.empty()) return 0;
  const double nx = -static_cast<double>(b.y - a.y) / length;
  const double ny = static_cast<double>(b.x - a.x) / length;
  double least = INFINITY, most = -INFINITY;
  for (const Polygon& polygon : shape) {
    for (const Position p : polygon.outer) {
      const double along = static_cast<double>(p.x) * nx + static_cast<double>(p.y) * ny;
      least = std::min(least, along);
      most = std::max(most, along);
    }
  }
  return most - least;
}

double least_width(const Polygons& shape) {
  std::vector<Position> points;
  for (const Polygon& polygon : shape) {
    points.insert(points.end(), polygon.outer.begin(), polygon.outer.end());
  }
  const Contour hull = convex_hull(std::move(points));
  if (hull.empty()) return 0;
  const Polygons solid{{hull, {}}};
  double least = INFINITY;
  for (std::size_t i = 0; i < hull.size(); ++i) {
    least = std::min(least, width_across(solid, hull[i], hull[(i + 1) % hull.size()]));
  }
  return least;
}

void move(Polygons& shape, Position by) {
  for (Polygon& polygon : shape) {
    for (Position& p : polygon.outer) p = p + by;
    for (Contour& hole : polygon.holes) {
      for (Position& p : hole) p = p + by;
    }
  }
}

Box box_of(const Polygons& shape) {
  Box box;
  for (const Polygon& polygon : shape) box.add(isthmus::box_of(polygon.outer));
  return box;
}

std::size_t vertex_count(const Polygons& shape) {
  std::size_t count = 0;
  for (const Polygon& polygon : shape) {
    count += polygon.outer.size();
    for (const Contour& hole : polygon.holes) count += hole.size();
  }
  return count;
}

Position Transform::apply(Position p) const {
  if (plain()) return p;
  const Point flipped{static_cast<double>(mirror_x ? -p.x : p.x) * scale,
                      static_cast<double>(mirror_y ? -p.y : p.y) * scale};
  return rounded(rotated(flipped, sin_cos_degrees(degrees)));
}

Polygons Transform::apply(const Polygons& shape) const {
  Polygons result = shape;
  if (plain()) return result;
  const SinCos turn = sin_cos_degrees(degrees);
  const bool reversed = mirror_x != mirror_y;
  const auto change = [&](Contour& contour) {
    for (Position& p : contour) {
      p = rounded(rotated({static_cast<double>(mirror_x ? -p.x : p.x) * scale,
                           static_cast<double>(mirror_y ? -p.y : p.y) * scale},
                          turn));
    }
    if (reversed) std::reverse(contour.begin(), contour.end());
    drop_repeats(contour);
  };
  for (Polygon& polygon : result) {
    change(polygon.outer);
    for (Contour& hole : polygon.holes) change(hole);
    std::erase_if(polygon.holes, [](const Contour& hole) { return hole.empty(); });
  }
  std::erase_if(result, [](const Polygon& polygon) { return polygon.outer.empty(); });
  return result;
}

}  // namespace isthmus::formats::gerber
