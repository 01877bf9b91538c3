// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "expect/disagreements/disagreements.hpp"

namespace isthmus::expect {
namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();

struct Approach {
  double distance{kFar};
  Position at;
  std::string side;
};

double box_distance(const Box& a, const Box& b) {
  const auto apart = [](std::int64_t lo, std::int64_t hi, std::int64_t lo2, std::int64_t hi2) {
    return static_cast<double>(std::max<std::int64_t>({0, lo2 - hi, lo - hi2}));
  };
  return std::hypot(apart(a.lo.x, a.hi.x, b.lo.x, b.hi.x), apart(a.lo.y, a.hi.y, b.lo.y, b.hi.y));
}

std::vector<Segment> edges_of(const Polygon& polygon) {
  std::vector<Segment> edges;
  const auto add = [&](const Contour& c) {
    for (std::size_t i = 0; i < c.size(); ++i) edges.push_back({c[i], c[(i + 1) % c.size()]});
  };
  add(polygon.outer);
  for (const Contour& hole : polygon.holes) add(hole);
  return edges;
}

Box box_of_edge(const Segment& s) {
  Box box;
  box.add(s.a);
  box.add(s.b);
  return box;
}

// Closest approach of two outlines, skipping edges that cannot beat what is known.
void approach_outlines(const copper::Island& a, const copper::Island& b, const std::string& side,
                       Approach& best) {
  if (box_distance(a.box, b.box) >= best.distance) return;
  const auto others = edges_of(b.outline);
  for (const Segment& one : edges_of(a.outline)) {
    const Box box = box_of_edge(one);
    if (box_distance(box, b.box) >= best.distance) continue;
    for (const Segment& other : others) {
      if (box_distance(box, box_of_edge(other)) >= best.distance) continue;
      const Closest c = closest(one, other);
      if (c.distance_nm >= best.distance) continue;
      best.distance = c.distance_nm;
      best.at = {(c.on_first.x + c.on_second.x) / 2, (c.on_first.y + c.on_second.y) / 2};
      best.side = side;
    }
  }
}

// The fragments of one net: pieces, and the copper of each.
struct Fragments {
  std::map<std::size_t, PointId> first_point;  // by piece, ascending
  std::map<std::size_t, std::vector<IslandId>> islands;
  [[nodiscard]] bool has(std::size_t piece) const { return first_point.count(piece) > 0; }
};

class Search {
 public:
  Search(const Case& c, const Fragments& fragments) : case_(c), fragments_(fragments) {}

  // A hole that would join two fragments, else the narrowest gap, else the closest outlines.
  Approach run() {
    try_holes();
    if (best_.distance == kFar) try_gaps();
    if (best_.distance == kFar) try_outlines(true);
    if (best_.distance == kFar) try_outlines(false);
    return best_;
  }

 private:
  void try_holes() {
    for (std::size_t i = 0; i < case_.holes.joins.size(); ++i) {
      const Join& join = case_.holes.joins[i];
      if (case_.holes.tooling[i]) continue;
      std::optional<std::size_t> seen;
      for (const IslandId island : join.islands) {
        const std::size_t piece = case_.promised.of(island);
        if (!fragments_.has(piece)) continue;
        if (seen && *seen != piece) {
          best_ = {0.0, join.at, "both"};
          return;
        }
        seen = piece;
      }
    }
  }

  void try_gaps() {
    for (const copper::Gap& gap : case_.ground.gaps) {
      const std::size_t a = case_.promised.of(gap.a);
      const std::size_t b = case_.promised.of(gap.b);
      if (gap.kind == copper::GapKind::wire) continue;
      if (a == b || !fragments_.has(a) || !fragments_.has(b)) continue;
      if (gap.distance_nm >= best_.distance) continue;
      best_ = {gap.distance_nm, gap.middle(), layer_name(gap.layer, case_.ground.layers())};
    }
  }

  void try_outlines(bool one_layer) {
    for (auto a = fragments_.islands.begin(); a != fragments_.islands.end(); ++a) {
      for (auto b = std::next(a); b != fragments_.islands.end(); ++b) {
        for (const IslandId i : a->second) {
          for (const IslandId k : b->second) approach(i, k, one_layer);
        }
      }
    }
  }

  void approach(IslandId i, IslandId k, bool one_layer) {
    const copper::Island& a = case_.ground.copper.island(i);
    const copper::Island& b = case_.ground.copper.island(k);
    if ((a.layer == b.layer) != one_layer) return;
    approach_outlines(a, b, one_layer ? layer_name(a.layer, case_.ground.layers()) : "both", best_);
  }

  const Case& case_;
  const Fragments& fragments_;
  Approach best_;
};

Fragments fragments_of(const Case& c, const std::vector<std::size_t>& points) {
  Fragments fragments;
  for (const std::size_t i : points) {
    const auto piece = piece_of(c.promised, c.stage.points[i]);
    if (piece) fragments.first_point.try_emplace(*piece, static_cast<PointId>(i));
  }
  if (fragments.first_point.size() < 2) return fragments;
  for (std::size_t i = 0; i < c.promised.of_island.size(); ++i) {
    const std::size_t piece = c.promised.of_island[i];
    if (fragments.has(piece)) fragments.islands[piece].push_back(static_cast<IslandId>(i));
  }
  return fragments;
}

}  // namespace

std::vector<Disagreement> find_opens(const Case& c) {
  std::map<std::string, std::vector<std::size_t>> by_key;
  for (std::size_t i = 0; i < c.stage.points.size(); ++i) by_key[c.stage.keys[i]].push_back(i);
  std::vector<Disagreement> found;
  for (const auto& [key, points] : by_key) {
    const Fragments fragments = fragments_of(c, points);
    if (fragments.first_point.size() < 2) continue;
    Disagreement d;
    d.kind = DisagreementKind::open;
    d.nets = {c.stage.points[points.front()].net};
    std::vector<PointId> firsts;
    for (const auto& [piece, point] : fragments.first_point) firsts.push_back(point);
    std::sort(firsts.begin(), firsts.end());
    for (const PointId point : firsts) d.points.push_back(c.stage.points[index(point)].id);
    const Approach approach = Search(c, fragments).run();
    d.at = approach.at;
    d.side = approach.side;
    found.push_back(std::move(d));
  }
  return found;
}

}  // namespace isthmus::expect
