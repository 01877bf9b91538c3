// SPDX-License-Identifier: Apache-2.0
#include "isthmus/plan/placing.hpp"

#include <fmt/format.h>

#include <cmath>

namespace isthmus::plan {
namespace {

// Beyond these a mark was mistyped or mistaken; common practice, no source.
constexpr double kMostStretch = 0.05;
constexpr double kMostLeft = 500'000;  // nm
// Marks whose narrower spread is less than this share of the wider lie in one line.
constexpr double kLine = 0.02;

using Marks = std::span<const std::array<Position, 2>>;

struct Point {
  double x{}, y{};
};
Point operator-(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }

// Sums over the marks, about their middles.
struct Sums {
  Point from, to;                 // the middles
  double xx{}, xy{}, yy{};        // of the artwork's places
  double ux{}, uy{}, vx{}, vy{};  // measured u, v times artwork x, y
  std::size_t count{};
};

Sums sums_of(Marks marks) {
  Sums s;
  s.count = marks.size();
  const double n = static_cast<double>(marks.size());
  for (const auto& [a, b] : marks) {
    s.from.x += static_cast<double>(a.x) / n;
    s.from.y += static_cast<double>(a.y) / n;
    s.to.x += static_cast<double>(b.x) / n;
    s.to.y += static_cast<double>(b.y) / n;
  }
  for (const auto& [a, b] : marks) {
    const Point p = Point{static_cast<double>(a.x), static_cast<double>(a.y)} - s.from;
    const Point q = Point{static_cast<double>(b.x), static_cast<double>(b.y)} - s.to;
    s.xx += p.x * p.x, s.xy += p.x * p.y, s.yy += p.y * p.y;
    s.ux += q.x * p.x, s.uy += q.x * p.y, s.vx += q.y * p.x, s.vy += q.y * p.y;
  }
  return s;
}

// Least and greatest spread of the artwork's places, squared: eigenvalues of their scatter.
bool in_line(const Sums& s) {
  const double half = (s.xx + s.yy) / 2, apart = std::hypot((s.xx - s.yy) / 2, s.xy);
  return half - apart <= kLine * kLine * (half + apart);
}

Placing similar(const Sums& s) {
  const double size = s.xx + s.yy;
  Placing p;
  p.xx = p.yy = (s.ux + s.vy) / size;
  p.yx = (s.vx - s.uy) / size;
  p.xy = -p.yx;
  return p;
}

Placing affine(const Sums& s) {
  const double det = s.xx * s.yy - s.xy * s.xy;
  Placing p;
  p.xx = (s.ux * s.yy - s.uy * s.xy) / det;
  p.xy = (s.uy * s.xx - s.ux * s.xy) / det;
  p.yx = (s.vx * s.yy - s.vy * s.xy) / det;
  p.yy = (s.vy * s.xx - s.vx * s.xy) / det;
  return p;
}

Problem wrong(std::string message) {
  Problem p;
  p.code = "PLN-110";
  p.message = "placed: " + std::move(message);
  p.hint = "measure the marks again: [x, y, x', y'], artwork first, both in mm, never mirrored";
  return p;
}

}  // namespace

Position Placing::operator()(Position p) const {
  if (!moved()) return p;
  const double x = static_cast<double>(p.x), y = static_cast<double>(p.y);
  return {std::llround(x0 + xx * x + xy * y), std::llround(y0 + yx * x + yy * y)};
}
double Placing::stretch_x() const { return std::hypot(xx, yx); }
double Placing::stretch_y() const { return std::hypot(xy, yy); }
double Placing::turn() const { return std::atan2(yx, xx); }

Result<Placing> placing_of(Marks marks) {
  if (marks.empty()) return Placing{};
  const Sums s = sums_of(marks);
  for (std::size_t i = 0; i < marks.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (marks[i][0] == marks[j][0]) return wrong("two marks are one place in the artwork");
    }
  }
  Placing p = marks.size() == 1 ? Placing{} : in_line(s) ? similar(s) : affine(s);
  p.marks = marks.size();
  p.x0 = s.to.x - p.xx * s.from.x - p.xy * s.from.y;
  p.y0 = s.to.y - p.yx * s.from.x - p.yy * s.from.y;
  if (p.xx * p.yy - p.xy * p.yx <= 0) return wrong("the marks are mirrored");
  const double shear = (p.xx * p.xy + p.yx * p.yy) / (p.stretch_x() * p.stretch_y());
  for (const double off : {p.stretch_x() - 1, p.stretch_y() - 1, shear}) {
    if (std::fabs(off) > kMostStretch)
      return wrong(fmt::format("the marks stretch or shear the artwork by {:.1f} %", 100 * off));
  }
  for (const auto& [from, to] : marks) p.worst_nm = std::max(p.worst_nm, distance_nm(p(from), to));
  if (p.worst_nm > kMostLeft)
    return wrong(
        fmt::format("a mark lies {:.2f} mm from where the others put it", p.worst_nm / 1e6));
  return p;
}

}  // namespace isthmus::plan
