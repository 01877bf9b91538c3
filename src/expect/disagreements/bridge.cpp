// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <map>

#include "expect/disagreements/disagreements.hpp"

namespace isthmus::expect {
namespace {

using Pieced = std::map<std::size_t, std::vector<std::size_t>>;

// Groups by piece, where a piece carries more than one.
Pieced shared_pieces(const Grouping& grouping) {
  Pieced pieces;
  for (std::size_t g = 0; g < grouping.groups.size(); ++g) pieces[grouping.pieces[g]].push_back(g);
  for (auto at = pieces.begin(); at != pieces.end();) {
    at = at->second.size() < 2 ? pieces.erase(at) : std::next(at);
  }
  return pieces;
}

struct Nearest {
  double distance{-1};
  const Point* a{};
  const Point* b{};
};

Nearest nearest_points(const std::vector<Point>& points, const Group& a, const Group& b) {
  Nearest best;
  for (const PointId i : a.points) {
    for (const PointId k : b.points) {
      const Point& one = points[index(i)];
      const Point& other = points[index(k)];
      const double d = distance_nm(one.at, other.at);
      if (best.distance >= 0 && d >= best.distance) continue;
      best = {d, &one, &other};
    }
  }
  return best;
}

std::optional<IslandId> first_island(const Point& point) {
  for (const auto& island : point.islands) {
    if (island) return island;
  }
  return std::nullopt;
}

// Whether the graph has a node of this island at all.
bool traced(const copper::ConductorGraph& graph, IslandId island) {
  if (index(island) >= graph.of_island.size()) return false;
  const auto [first, last] = graph.of_island[index(island)];
  return first < last;
}

class Wires {
 public:
  Wires(const Case& c, const copper::ConductorGraph& graph)
      : graph_(graph), sets(graph.nodes.size()) {
    for (const Join& join : c.holes.joins) {
      if (!join.conducts) continue;
      for (const IslandId island : join.islands)
        tie(join.islands.front(), join.at, island, join.at);
    }
    for (const Link& link : c.links) tie(link.from, link.from_at, link.to, link.to_at);
  }
  // A point touches all its layers.
  std::optional<std::size_t> node_of(const Point& point) const {
    const auto island = first_island(point);
    if (!island || !traced(graph_, *island)) return std::nullopt;
    return copper::nearest_node(graph_, *island, point.at);
  }

 private:
  void tie(IslandId a, Position at_a, IslandId b, Position at_b) {
    if (!traced(graph_, a) || !traced(graph_, b)) return;
    sets.unite(copper::nearest_node(graph_, a, at_a), copper::nearest_node(graph_, b, at_b));
  }
  const copper::ConductorGraph& graph_;

 public:
  Sets sets;
};

}  // namespace

Bottlenecks::Bottlenecks(const Case& c)
    : case_(c), graph_(copper::trace_conductors(c.ground.design, c.ground.copper)) {
  by_width_.resize(graph_.branches.size());
  for (std::size_t i = 0; i < by_width_.size(); ++i) by_width_[i] = i;
  std::stable_sort(by_width_.begin(), by_width_.end(), [&](std::size_t a, std::size_t b) {
    return graph_.branches[a].width > graph_.branches[b].width;
  });
}

Narrowest Bottlenecks::between(std::size_t piece, const Point& a, const Point& b) const {
  const Position middle{(a.at.x + b.at.x) / 2, (a.at.y + b.at.y) / 2};
  Narrowest fallback{middle, std::string(name(a.side == b.side ? a.side : Side::both))};
  Wires wires(case_, graph_);
  const auto from = wires.node_of(a);
  const auto to = wires.node_of(b);
  if (!from || !to || wires.sets.one(*from, *to)) return fallback;
  for (const std::size_t i : by_width_) {
    const copper::Branch& branch = graph_.branches[i];
    const IslandId island = graph_.nodes[branch.a].island;
    if (case_.pieces.of(island) != piece) continue;
    wires.sets.unite(branch.a, branch.b);
    if (!wires.sets.one(*from, *to)) continue;
    return {branch.narrowest,
            layer_name(case_.ground.copper.island(island).layer, case_.ground.layers())};
  }
  return fallback;
}

std::vector<Disagreement> find_bridges(const Case& c) {
  std::map<std::pair<std::string, std::string>, Disagreement> found;  // by net identities
  std::optional<Bottlenecks> bottlenecks;
  for (const auto& [piece, groups] : shared_pieces(c.grouping)) {
    for (std::size_t i = 0; i < groups.size(); ++i) {
      for (std::size_t k = i + 1; k < groups.size(); ++k) {
        const Group& a = c.grouping.groups[groups[i]];
        const Group& b = c.grouping.groups[groups[k]];
        const std::pair<std::string, std::string> keys =
            std::minmax(c.grouping.keys[groups[i]], c.grouping.keys[groups[k]]);
        if (c.ties.tied(a.net, b.net) || found.count(keys)) continue;
        if (!bottlenecks) bottlenecks.emplace(c);
        const Nearest near = nearest_points(c.stage.points, a, b);
        const Narrowest place = bottlenecks->between(piece, *near.a, *near.b);
        Disagreement d;
        d.kind = DisagreementKind::bridge;
        d.nets = {a.net, b.net};
        d.points = {near.a->id, near.b->id};
        if (d.nets[1] < d.nets[0]) {
          std::swap(d.nets[0], d.nets[1]);
          std::swap(d.points[0], d.points[1]);
        }
        d.at = place.at;
        d.side = place.side;
        found.emplace(keys, std::move(d));
      }
    }
  }
  std::vector<Disagreement> out;
  for (auto& [keys, d] : found) out.push_back(std::move(d));
  return out;
}

}  // namespace isthmus::expect
