// SPDX-License-Identifier: Apache-2.0
#include "isthmus/expect/capability.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "expect/rim.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::expect {
namespace {

constexpr std::int64_t kGapExact = 2'000, kTrackExact = 6'000, kRingExact = 2'000;  // nm

// Nothing for copper that no point lies on.
std::vector<const Group*> groups_by_island(const Board& board) {
  std::vector<const Group*> of(board.copper.islands.size(), nullptr);
  for (const Group& group : board.expectation.groups) {
    for (const IslandId island : group.islands) of[index(island)] = &group;
  }
  return of;
}

std::string side_of(const Board& board, LayerId layer) {
  return layer_name(layer, board.copper.layers);
}

bool one_net(const Group& a, const Group& b) { return a.net == b.net && a.net_full == b.net_full; }

void add_gaps(const Board& board, const std::vector<const Group*>& groups,
              std::vector<Shortfall>& out) {
  const std::int64_t needed = board.design.board.process.gap.value;
  for (const copper::Gap& gap : board.gaps) {
    const Group *a = groups[index(gap.a)], *b = groups[index(gap.b)];
    if (!a || !b || one_net(*a, *b) || gap.kind == copper::GapKind::wire) continue;
    for (const copper::Facing& f : gap.facings) {
      const auto drawn = std::llround(f.distance_nm);
      if (drawn + kGapExact >= needed) continue;
      Shortfall s{ShortfallKind::gap,
                  {(f.on_a.x + f.on_b.x) / 2, (f.on_a.y + f.on_b.y) / 2},
                  side_of(board, gap.layer),
                  {a->net, b->net},
                  {drawn},
                  {needed},
                  {std::llround(f.length_nm)}};
      std::ranges::sort(s.nets);
      out.push_back(std::move(s));
    }
  }
}

// A stretch is a track where it joins two parts: wider copper, or a point, at two of its nodes at
// least. A spur into the corner of an area drawn with a thin pen leads nowhere.
class Ends {
 public:
  explicit Ends(const Board& board) : graph_(board.conductors) {
    for (const Point& p : board.expectation.points) {
      for (const auto& island : p.islands) {
        if (island) points_.insert(copper::nearest_node(graph_, *island, p.at));
      }
    }
  }
  template <typename Narrow>
  [[nodiscard]] bool at(std::size_t node, const Narrow& narrow) const {
    return points_.contains(node) || std::ranges::any_of(graph_.at_node[node], [&](std::size_t b) {
             return !narrow(graph_.branches[b]);
           });
  }

 private:
  const copper::ConductorGraph& graph_;
  std::set<std::size_t> points_;
};

// Narrow branches that meet are one stretch.
void add_tracks(const Board& board, const std::vector<const Group*>& groups,
                std::vector<Shortfall>& out) {
  const copper::ConductorGraph& graph = board.conductors;
  const std::int64_t needed = board.design.board.process.track.value;
  const auto narrow = [&](const copper::Branch& b) {
    return b.width.value > 0 && b.width.value + kTrackExact < needed &&
           groups[index(graph.nodes[b.a].island)];
  };
  Sets met(graph.nodes.size());
  for (const copper::Branch& b : graph.branches) {
    if (narrow(b)) met.unite(b.a, b.b);
  }
  const Ends ends(board);
  std::map<std::size_t, std::set<std::size_t>> joined;
  for (const copper::Branch& b : graph.branches) {
    if (!narrow(b)) continue;
    for (const std::size_t node : {b.a, b.b}) {
      if (ends.at(node, narrow)) joined[met.find(node)].insert(node);
    }
  }
  std::map<std::size_t, Shortfall> stretches;
  for (const copper::Branch& b : graph.branches) {
    if (!narrow(b) || joined[met.find(b.a)].size() < 2) continue;
    const IslandId island = graph.nodes[b.a].island;
    const auto [it, fresh] = stretches.try_emplace(
        met.find(b.a), Shortfall{ShortfallKind::track,
                                 b.narrowest,
                                 side_of(board, board.copper.island(island).layer),
                                 {groups[index(island)]->net},
                                 b.width,
                                 {needed},
                                 {}});
    Shortfall& s = it->second;
    if (!fresh && b.width < s.drawn) s.drawn = b.width, s.at = b.narrowest;
    double length = 0;
    for (std::size_t i = 1; i < b.path.size(); ++i) length += distance_nm(b.path[i - 1], b.path[i]);
    s.length.value += std::llround(length);
  }
  for (auto& [node, s] : stretches) out.push_back(std::move(s));
}

// Whether all of the box is farther away than that.
bool beyond(const Box& box, Position p, double distance) {
  return std::isfinite(distance) && !box.grown(Nanometres{std::llround(distance) + 1}).contains(p);
}

// Whether any corner lies outside the circle: else the drill takes the whole contour away.
bool leaves(const Contour& c, Position middle, double radius) {
  return std::ranges::any_of(c, [&](Position q) { return distance_nm(middle, q) > radius; });
}

// How far the copper that the drill takes away reaches from the middle of the hole.
double taken(const copper::Island& island, Position middle, double radius) {
  double farthest = 0;
  for (std::size_t piece = 0; piece < island.pieces(); ++piece) {
    for (const Position q : island.piece(piece).outer) {
      const double d = distance_nm(middle, q);
      if (d <= radius) farthest = std::max(farthest, d);
    }
  }
  return farthest;
}

// The boxes of each piece's holes: a plane has one for every pad it keeps away from.
using HoleBoxes = std::vector<std::vector<Box>>;
HoleBoxes hole_boxes(const copper::Island& island) {
  HoleBoxes boxes(island.pieces());
  for (std::size_t piece = 0; piece < island.pieces(); ++piece) {
    for (const Contour& hole : island.piece(piece).holes) boxes[piece].push_back(box_of(hole));
  }
  return boxes;
}

// From the middle of a hole to the nearest edge that the drill does not take away; negative where
// the middle itself is off the copper.
double reach(const copper::Island& island, const HoleBoxes& boxes, Position middle, double radius) {
  double nearest = INFINITY;
  bool inside = false;
  for (std::size_t piece = 0; piece < island.pieces(); ++piece) {
    const Polygon& p = island.piece(piece);
    if (leaves(p.outer, middle, radius))
      nearest = std::min(nearest, nearest_edge_nm(middle, p.outer));
    bool in_piece = locate(middle, p.outer) != Where::outside;
    for (std::size_t h = 0; h < p.holes.size(); ++h) {
      // A pilot hole drawn in the pad leaves the middle bare, and the drill takes its edge.
      if (beyond(boxes[piece][h], middle, nearest) || !leaves(p.holes[h], middle, radius)) continue;
      nearest = std::min(nearest, nearest_edge_nm(middle, p.holes[h]));
      if (locate(middle, p.holes[h]) != Where::outside) in_piece = false;
    }
    inside |= in_piece;
  }
  return inside ? nearest : -nearest;
}

void add_rings(const Board& board, const std::vector<const Group*>& groups,
               std::vector<Shortfall>& out) {
  const formats::ProcessKeys& process = board.design.board.process;
  const std::int64_t needed = board.copper.layers > 1
                                  ? std::max(process.drill_wander, process.registration).value
                                  : process.drill_wander.value;
  std::map<IslandId, HoleBoxes> boxes;
  for (const Join& join : board.expectation.joins) {
    const formats::Hole& hole = board.design.holes[join.hole];
    const double radius = static_cast<double>(join.diameter.value) / 2;
    for (const IslandId id : join.islands) {
      if (!groups[index(id)]) continue;
      const copper::Island& island = board.copper.island(id);
      const auto [known, fresh] = boxes.try_emplace(id);
      if (fresh) known->second = hole_boxes(island);
      double least = INFINITY;
      Position at = join.at;
      for (const Position end : {hole.from, hole.to}) {  // of a slot, its ends
        const double r = reach(island, known->second, end, radius);
        if (r < least) least = r, at = end;
      }
      // A hole larger than its pad leaves nothing: by how much is what its rim lies outside.
      if (!std::isfinite(least)) least = taken(island, at, radius);
      const auto drawn = std::llround(least - radius);
      if (drawn + kRingExact >= needed) continue;
      out.push_back({ShortfallKind::ring,
                     at,
                     side_of(board, island.layer),
                     {groups[index(id)]->net},
                     {drawn},
                     {needed},
                     {}});
    }
  }
}

}  // namespace

std::string_view name(ShortfallKind k) {
  switch (k) {
    case ShortfallKind::gap:
      return "gap";
    case ShortfallKind::track:
      return "track";
    case ShortfallKind::ring:
      return "ring";
  }
  return "";
}

std::vector<Shortfall> shortfalls(const Board& board) {
  const auto groups = groups_by_island(board);
  std::vector<Shortfall> all;
  add_gaps(board, groups, all);
  add_tracks(board, groups, all);
  add_rings(board, groups, all);
  std::ranges::stable_sort(all, {}, [](const Shortfall& s) {
    return std::tuple(static_cast<double>(s.drawn.value) / static_cast<double>(s.needed.value),
                      s.kind, s.at.x, s.at.y, s.side);
  });
  return all;
}

}  // namespace isthmus::expect
