// SPDX-License-Identifier: Apache-2.0
#include "copper/field/narrow.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "copper/index/edges.hpp"

namespace isthmus::copper {
namespace {

constexpr double kLeastPart = 0.5;   // of width^2: what hangs on a place, or nothing flows there
constexpr double kSameTip = 0.25;    // of the width: corners of one rounded tip
constexpr double kLeastTurn = 0.02;  // sine: a bend this slight is no corner
constexpr double kSharp = 50 * std::numbers::pi / 180;
constexpr double kWiden = 0.05;  // radians: how far "across" may lie before or behind square

struct Vec {
  double x{}, y{};
};
Vec from_to(Position a, Position b) {
  return {static_cast<double>(b.x - a.x), static_cast<double>(b.y - a.y)};
}
double dot(Vec a, Vec b) { return a.x * b.x + a.y * b.y; }
double cross(Vec a, Vec b) { return a.x * b.y - a.y * b.x; }
double length(Vec a) { return std::hypot(a.x, a.y); }
Vec turned(Vec a, double radians) {
  const double c = std::cos(radians), s = std::sin(radians);
  return {c * a.x - s * a.y, s * a.x + c * a.y};
}

struct Ring {
  const Contour* contour{};
  bool hole{};
  std::size_t first{};        // of its edges in the index
  std::vector<double> swept;  // twice the area against the origin, before each vertex
};

class Finder {
 public:
  Finder(const std::vector<Polygon>& shape, double width) : width_(width) {
    std::vector<Segment> edges;
    for (const Polygon& p : shape) {
      origin_ = p.outer.front();
      add(p.outer, false, edges);
      for (const Contour& h : p.holes) add(h, true, edges);
    }
    ring_of_.resize(edges.size());
    for (std::size_t r = 0; r < rings_.size(); ++r) {
      for (std::size_t k = 0; k < rings_[r].contour->size(); ++k) ring_of_[rings_[r].first + k] = r;
    }
    grid_ = SegmentGrid(std::move(edges), std::max<std::int64_t>(std::llround(width), 1'000));
  }

  std::vector<NarrowPlace> find() const {
    std::vector<NarrowPlace> places;
    for (std::size_t r = 0; r < rings_.size(); ++r) {
      for (std::size_t k = 0; k < rings_[r].contour->size(); ++k) {
        if (const auto place = at(r, k)) places.push_back(*place);
      }
    }
    std::stable_sort(places.begin(), places.end(),
                     [](const NarrowPlace& a, const NarrowPlace& b) { return a.width < b.width; });
    std::vector<NarrowPlace> apart;
    for (const NarrowPlace& p : places) {
      if (std::none_of(apart.begin(), apart.end(), [&](const NarrowPlace& o) {
            return length(from_to(o.tip, p.tip)) < kSameTip * p.width;
          })) {
        apart.push_back(p);
      }
    }
    return apart;
  }

 private:
  struct Across {
    double distance{};
    std::size_t edge{};
    Vec at;  // from the tip
  };

  void add(const Contour& contour, bool hole, std::vector<Segment>& edges) {
    Ring ring{&contour, hole, edges.size(), {0}};
    for (std::size_t k = 0; k < contour.size(); ++k) {
      const Position p = contour[k], q = contour[(k + 1) % contour.size()];
      edges.push_back({p, q});
      ring.swept.push_back(ring.swept.back() + cross(from_to(origin_, p), from_to(origin_, q)));
    }
    rings_.push_back(std::move(ring));
  }

  std::optional<NarrowPlace> at(std::size_t r, std::size_t k) const {
    const Contour& c = *rings_[r].contour;
    const std::size_t n = c.size();
    const Position tip = c[k];
    const Vec in = from_to(c[(k + n - 1) % n], tip), out = from_to(tip, c[(k + 1) % n]);
    // Copper lies to the left: a right turn points into it.
    const double turn = cross(in, out);
    if (turn > -kLeastTurn * length(in) * length(out) && dot(in, out) >= 0) return std::nullopt;
    if (turn > 0) return std::nullopt;
    const auto across = nearest(tip, turned(in, kWiden), turned(out, -kWiden),
                                rings_[r].first + (k + n - 1) % n, rings_[r].first + k);
    if (!across || ring_of_[across->edge] != r) return std::nullopt;
    const double part = smaller_part(rings_[r], k, across->edge - rings_[r].first, across->at);
    if (part < kLeastPart * across->distance * across->distance) return std::nullopt;
    return NarrowPlace{tip, across->distance};
  }

  // The nearest outline in the directions in which both edges of the corner fall back.
  std::optional<Across> nearest(Position tip, Vec in, Vec out, std::size_t before,
                                std::size_t after) const {
    const auto reach = std::llround(width_);
    const Box box{{tip.x - reach, tip.y - reach}, {tip.x + reach, tip.y + reach}};
    std::optional<Across> best;
    grid_.for_each(box, [&](std::size_t e) {
      if (e == before || e == after) return true;
      const Segment& s = grid_.segments()[e];
      const Vec a = from_to(tip, s.a), b = from_to(tip, s.b);
      double from = 0, to = 1;
      if (!keep(dot(a, in), dot(b, in), from, to)) return true;
      if (!keep(-dot(a, out), -dot(b, out), from, to)) return true;
      const Vec along{b.x - a.x, b.y - a.y};
      const double t = std::clamp(-dot(a, along) / std::max(dot(along, along), 1e-300), from, to);
      const Vec there{a.x + t * along.x, a.y + t * along.y};
      const double distance = length(there);
      if (distance < width_ && distance > 0 &&
          (!best || distance < best->distance || (distance == best->distance && e < best->edge))) {
        best = Across{distance, e, there};
      }
      return true;
    });
    return best;
  }

  // Narrows [from, to] to where a value that runs from `a` to `b` is not negative.
  static bool keep(double a, double b, double& from, double& to) {
    if (a < 0 && b < 0) return false;
    if (a < 0) from = std::max(from, a / (a - b));
    if (b < 0) to = std::min(to, a / (a - b));
    return from <= to;
  }

  // nm^2 of the smaller part that a cut from vertex k to a place on edge `e` of the ring leaves.
  double smaller_part(const Ring& ring, std::size_t k, std::size_t e, Vec there) const {
    const Contour& c = *ring.contour;
    const std::size_t n = c.size();
    const Vec tip = from_to(origin_, c[k]), spot{tip.x + there.x, tip.y + there.y};
    const auto swept = [&](std::size_t from, std::size_t to) {  // from vertex to vertex, forwards
      return from <= to ? ring.swept[to] - ring.swept[from]
                        : ring.swept[n] - ring.swept[from] + ring.swept[to];
    };
    const Vec start = from_to(origin_, c[e]), end = from_to(origin_, c[(e + 1) % n]);
    const double ahead = (swept(k, e) + cross(start, spot) + cross(spot, tip)) / 2;
    const double behind = (swept((e + 1) % n, k) + cross(tip, spot) + cross(spot, end)) / 2;
    if (!ring.hole) return std::min(ahead, behind);
    return std::max(ahead, behind);  // the other one runs round the hole
  }

  double width_;
  Position origin_;
  std::vector<Ring> rings_;
  std::vector<std::size_t> ring_of_;  // by edge
  SegmentGrid grid_;
};

}  // namespace

std::vector<NarrowPlace> narrow_places(const std::vector<Polygon>& shape, double width) {
  if (shape.empty() || !(width > 0)) return {};
  return Finder(shape, width).find();
}

std::vector<Position> inner_corners(const std::vector<Polygon>& shape) {
  std::vector<Position> corners;
  const auto walk = [&](const Contour& c) {
    for (std::size_t k = 0; k < c.size(); ++k) {
      const Vec in = from_to(c[(k + c.size() - 1) % c.size()], c[k]),
                out = from_to(c[k], c[(k + 1) % c.size()]);
      if (std::atan2(cross(in, out), dot(in, out)) < -kSharp) corners.push_back(c[k]);
    }
  };
  for (const Polygon& p : shape) {
    walk(p.outer);
    for (const Contour& h : p.holes) walk(h);
  }
  return corners;
}

}  // namespace isthmus::copper
