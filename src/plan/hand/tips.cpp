// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <set>

#include "isthmus/plan/hand_tips.hpp"

namespace isthmus::plan {
namespace {

using expect::Wiring;
using Nodes = std::vector<std::uint32_t>;

// The metal in a joined hole, seen from its copper on either side.
std::uint32_t metal_of(const expect::Board& board, PointId point) {
  const expect::FaultList& list = board.faults;
  for (const Wiring::Edge& e : list.wiring.edges) {
    if (!e.join) continue;
    for (const Side side : {Side::top, Side::bottom}) {
      const std::uint32_t ring = list.node_of(point, side);
      if (ring == Wiring::kNone || (e.a != ring && e.b != ring)) continue;
      const std::uint32_t far = e.a == ring ? e.b : e.a;
      if (!list.island_of_node[far]) return far;
    }
  }
  return Wiring::kNone;
}

// Copper at both ends of the hole: of the point itself, and of the one at its other end.
Nodes ends_of(const expect::Board& board, PointId id) {
  const expect::Point& p = board.expectation.point(id);
  Nodes nodes;
  const auto add = [&](std::size_t point) {
    for (const Side side : {Side::top, Side::bottom}) {
      const std::uint32_t n = board.faults.node_of(static_cast<PointId>(point), side);
      if (n != Wiring::kNone && std::ranges::find(nodes, n) == nodes.end()) nodes.push_back(n);
    }
  };
  add(index(id));
  const auto& points = board.expectation.points;
  for (std::size_t i = 0; p.join && i < points.size(); ++i) {
    if (points[i].join == p.join) add(i);
  }
  return nodes;
}

}  // namespace

std::vector<std::uint32_t> clip_nodes(const expect::Board& board, const HandClip& clip) {
  if (clip.side != Side::both) {
    const std::uint32_t n = board.faults.node_of(clip.point, clip.side);
    return n == Wiring::kNone ? Nodes{} : Nodes{n};
  }
  return ends_of(board, clip.point);
}

namespace hand {

Seat::Seat(const expect::Board& board, const std::vector<HandClip>& clips)
    : parts_(board.faults.wiring.nodes.size()), bypassed_(parts_.size(), false) {
  const Wiring& wiring = board.faults.wiring;
  std::vector<std::pair<std::uint32_t, std::uint32_t>> ties;
  std::set<std::uint32_t> bridged;  // metal of holes that clips bridge
  for (std::size_t c = 0; c < clips.size(); ++c) {
    const Nodes nodes = clip_nodes(board, clips[c]);
    for (const std::uint32_t n : nodes) tips_.push_back({n, c, nodes.size() > 1});
    if (nodes.size() < 2) continue;
    ties.emplace_back(nodes[0], nodes[1]);
    bridged.insert(metal_of(board, clips[c].point));
  }
  for (const Wiring::Edge& e : wiring.edges) {
    if (e.join && (bridged.contains(e.a) || bridged.contains(e.b))) continue;
    parts_.unite(e.a, e.b);
  }
  mark_bypassed(ties);
}

// A tie that closes a ring of copper and clips leads round all of it.
void Seat::mark_bypassed(const std::vector<std::pair<std::uint32_t, std::uint32_t>>& ties) {
  Sets tied = parts_;
  std::vector<std::uint32_t> closing;
  for (const auto& [a, b] : ties) {
    if (!tied.unite(a, b)) closing.push_back(a);
  }
  for (std::size_t n = 0; n < bypassed_.size(); ++n) {
    bypassed_[parts_.find(n)] =
        bypassed_[parts_.find(n)] ||
        std::ranges::any_of(closing, [&](std::uint32_t c) { return tied.find(c) == tied.find(n); });
  }
}

}  // namespace hand
}  // namespace isthmus::plan
