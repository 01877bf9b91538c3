// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/loops.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::formats::gerber {
namespace {

struct Edge {
  Position from, to;
  [[nodiscard]] std::int64_t left() const { return std::min(from.x, to.x); }
  [[nodiscard]] std::int64_t right() const { return std::max(from.x, to.x); }
  [[nodiscard]] std::int64_t low() const { return std::min(from.y, to.y); }
  [[nodiscard]] std::int64_t high() const { return std::max(from.y, to.y); }
};

// Drops pairs of edges that lie on each other in opposite directions.
std::vector<Edge> without_cut_ins(const Contour& contour) {
  std::vector<Edge> edges;
  edges.reserve(contour.size());
  for (std::size_t i = 0; i < contour.size(); ++i) {
    const Edge e{contour[i], contour[(i + 1) % contour.size()]};
    if (e.from != e.to) edges.push_back(e);
  }
  const auto key = [](const Edge& e) { return std::minmax(e.from, e.to); };
  std::sort(edges.begin(), edges.end(), [&](const Edge& a, const Edge& b) {
    return key(a) != key(b) ? key(a) < key(b) : a.from < b.from;
  });
  std::vector<Edge> left;
  left.reserve(edges.size());
  for (const Edge& e : edges) {
    if (!left.empty() && left.back().from == e.to && left.back().to == e.from) {
      left.pop_back();
    } else {
      left.push_back(e);
    }
  }
  return left;
}

// Follows the edges, sorted by their start. Nothing when two leave one place.
std::optional<std::vector<Contour>> loops_of(std::vector<Edge>& edges) {
  std::sort(edges.begin(), edges.end(),
            [](const Edge& a, const Edge& b) { return a.from < b.from; });
  for (std::size_t i = 1; i < edges.size(); ++i) {
    if (edges[i].from == edges[i - 1].from) return std::nullopt;
  }
  std::vector<bool> used(edges.size(), false);
  std::vector<Contour> loops;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    if (used[i]) continue;
    Contour loop;
    for (std::size_t at = i; !used[at];) {
      used[at] = true;
      loop.push_back(edges[at].from);
      const auto next = std::lower_bound(edges.begin(), edges.end(), edges[at].to,
                                         [](const Edge& e, Position p) { return e.from < p; });
      if (next == edges.end() || next->from != edges[at].to) return std::nullopt;
      at = static_cast<std::size_t>(next - edges.begin());
    }
    loops.push_back(std::move(loop));
  }
  return loops;
}

// Whether two edges meet anywhere but where one ends and the other goes on.
bool conflict(const Edge& a, const Edge& b) {
  if (a.low() > b.high() || b.low() > a.high()) return false;
  if (a.to == b.from || b.to == a.from) {
    const Edge& first = a.to == b.from ? a : b;
    const Edge& second = a.to == b.from ? b : a;
    if (orientation(first.from, first.to, second.to) != 0) return false;
    const Position u = first.to - first.from, v = second.to - second.from;
    return static_cast<double>(u.x) * static_cast<double>(v.x) +
               static_cast<double>(u.y) * static_cast<double>(v.y) <
           0;
  }
  return crosses_or_touches({a.from, a.to}, {b.from, b.to});
}

// How many pairs of edges conflict; stops counting at `limit`.
std::size_t conflicts(std::vector<Edge> edges, std::size_t limit) {
  double width = 0, height = 0;
  for (const Edge& e : edges) {
    width += static_cast<double>(e.right() - e.left());
    height += static_cast<double>(e.high() - e.low());
  }
  if (width > height) {  // sweep along the axis on which the edges are short
    for (Edge& e : edges) e = {{e.from.y, e.from.x}, {e.to.y, e.to.x}};
  }
  std::sort(edges.begin(), edges.end(),
            [](const Edge& a, const Edge& b) { return a.left() < b.left(); });
  std::vector<const Edge*> active;
  std::size_t count = 0;
  for (const Edge& e : edges) {
    std::size_t kept = 0;
    for (const Edge* other : active) {
      if (other->right() < e.left()) continue;
      active[kept++] = other;
      if (conflict(*other, e) && ++count >= limit) return count;
    }
    active.resize(kept);
    active.push_back(&e);
  }
  return count;
}

void drop_collinear(Contour& loop) {
  Contour kept;
  kept.reserve(loop.size());
  const std::size_t n = loop.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Position before = kept.empty() ? loop[n - 1] : kept.back();
    if (orientation(before, loop[i], loop[(i + 1) % n]) != 0) kept.push_back(loop[i]);
  }
  loop = std::move(kept);
}

struct Loop {
  Contour contour;
  Box box;
  double area{};  // without sign
  int turn{};     // +1 counter-clockwise
  int inside{0};  // winding number just inside
};

bool holds(const Loop& outer, const Loop& inner) {
  return outer.box.contains(inner.box.lo) && outer.box.contains(inner.box.hi) &&
         locate(inner.contour.front(), outer.contour) == Where::inside;
}

// Loops do not touch each other, so that each lies wholly inside or outside of any other.
Polygons nested(std::vector<Loop> loops) {
  std::sort(loops.begin(), loops.end(),
            [](const Loop& a, const Loop& b) { return a.area > b.area; });
  Polygons result;
  std::vector<std::size_t> polygon_of(loops.size());
  for (std::size_t i = 0; i < loops.size(); ++i) {
    Loop& loop = loops[i];
    int outside = 0;
    std::size_t around = 0;  // the smallest filled loop around this one
    for (std::size_t k = 0; k < i; ++k) {
      if (!holds(loops[k], loop)) continue;
      outside += loops[k].turn;
      if (loops[k].inside != 0 && loops[k].inside == loops[k].turn) around = k;
    }
    loop.inside = outside + loop.turn;
    const bool counter_clockwise = loop.turn > 0;
    if (loop.inside != 0 && outside == 0) {
      if (!counter_clockwise) std::reverse(loop.contour.begin(), loop.contour.end());
      polygon_of[i] = result.size();
      result.push_back({std::move(loop.contour), {}});
      loop.contour = result.back().outer;
    } else if (loop.inside == 0 && outside != 0) {
      Contour hole = loop.contour;
      if (counter_clockwise) std::reverse(hole.begin(), hole.end());
      result[polygon_of[around]].holes.push_back(std::move(hole));
    }
  }
  return result;
}

}  // namespace

std::optional<Polygons> fill_simple(const Contour& contour) {
  std::vector<Edge> edges = without_cut_ins(contour);
  auto loops = loops_of(edges);
  if (!loops || conflicts(std::move(edges), 1) > 0) return std::nullopt;
  std::vector<Loop> all;
  for (Contour& contour_of_loop : *loops) {
    drop_collinear(contour_of_loop);
    if (contour_of_loop.size() < 3) return std::nullopt;
    Loop loop;
    loop.box = box_of(contour_of_loop);
    const double area = signed_area_nm2(contour_of_loop);
    loop.area = std::abs(area);
    loop.turn = area > 0 ? 1 : -1;
    loop.contour = std::move(contour_of_loop);
    all.push_back(std::move(loop));
  }
  return nested(std::move(all));
}

bool crosses_too_often(const Contour& contour) {
  constexpr std::size_t kMaxCrossings = 1'000'000;
  if (contour.size() * contour.size() < kMaxCrossings) return false;
  return conflicts(without_cut_ins(contour), kMaxCrossings) >= kMaxCrossings;
}

}  // namespace isthmus::formats::gerber
