// SPDX-License-Identifier: Apache-2.0
// Copper made by hand, in millimetres, for tests of conductors and fields.
#pragma once

#include <cmath>
#include <numbers>
#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper::test {

using Mm = std::vector<std::pair<double, double>>;

inline Contour contour(const Mm& mm) {
  Contour c;
  for (auto [x, y] : mm) c.push_back(position_mm(x, y));
  return c;
}
inline Mm rectangle(double x0, double y0, double x1, double y1) {
  return {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}};
}
inline Mm circle(double x, double y, double r, int n = 128) {
  Mm c;
  for (int i = 0; i < n; ++i) {
    const double a = 2 * std::numbers::pi * i / n;
    c.emplace_back(x + r * std::cos(a), y + r * std::sin(a));
  }
  return c;
}
inline Contour clockwise(Contour c) { return {c.rbegin(), c.rend()}; }
inline Polygon polygon(const Mm& outer, const std::vector<Mm>& holes = {}) {
  Polygon p{contour(outer), {}};
  for (const Mm& h : holes) p.holes.push_back(clockwise(contour(h)));
  return p;
}
inline Mm turned(const Mm& mm, double degrees) {
  const double a = degrees * std::numbers::pi / 180, c = std::cos(a), s = std::sin(a);
  Mm out;
  for (auto [x, y] : mm) out.emplace_back(c * x - s * y, s * x + c * y);
  return out;
}
inline Island island(const Polygon& p, unsigned layer = 0) {
  Island i;
  i.layer = static_cast<LayerId>(layer);
  i.outline = p;
  i.box = box_of(p.outer);
  i.area_nm2 = area_nm2(p);
  return i;
}
inline Copper copper_of(const std::vector<Polygon>& polygons) {
  Copper c;
  c.layers = 1;
  for (const Polygon& p : polygons) c.islands.push_back(island(p));
  return c;
}

}  // namespace isthmus::copper::test
