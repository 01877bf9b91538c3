// SPDX-License-Identifier: Apache-2.0
#include "tests/plan/nets.hpp"

namespace isthmus::test {

using expect::FaultKind;
using expect::Wiring;

Nets::Node Nets::node(Position at, bool feature, bool place) {
  expect::FaultList& list = board_.faults;
  list.wiring.nodes.push_back({static_cast<std::uint32_t>(near_.size()), feature, place});
  list.place_of_node.push_back(at);
  list.island_of_node.emplace_back();
  list.points_of_node.emplace_back();
  return static_cast<Node>(list.wiring.nodes.size() - 1);
}

std::uint32_t Nets::entry(FaultKind kind, Position at) {
  expect::PossibleFault f;
  f.kind = kind;
  f.piece = f.other = static_cast<std::uint32_t>(near_.size());
  f.at = at;
  f.likelihood = 1;
  board_.faults.entries.push_back(std::move(f));
  return board_.faults.wiring.entries++;
}

void Nets::stretch(Node hub, Node end, bool listed) {
  const Position at = board_.faults.place_of_node[end];
  board_.faults.wiring.edges.push_back(
      {hub, end, listed ? entry(FaultKind::stretch, at) : Wiring::kNone, false});
}

Nets::Node Nets::end_of(Node hub, const expect::Point& p, bool feature, bool listed) {
  const Node n = node(p.at, feature, true);
  if (hub != Wiring::kNone) stretch(hub, n, listed);
  board_.faults.points_of_node[n].push_back(static_cast<PointId>(board_.expectation.points.size()));
  return n;
}

void Nets::place_point(const std::string& net, char kind, std::size_t pin, const Hubs& hubs) {
  auto& e = board_.expectation;
  expect::Point p;
  p.id = net + "." + std::to_string(pin);
  p.net = net;
  p.at = position_mm(2.54 * static_cast<double>(pin - 1), 2.54 * static_cast<double>(near_.size()));
  p.side = kind == 'b' ? Side::bottom : kind == 'h' || kind == 'v' ? Side::both : Side::top;
  p.via = kind == 'v';
  if (kind == 'T') p.size = from_mm(2.5);  // a clip can hold it
  p.required = kind != 'v';
  p.waived = kind == 'w';
  p.group = static_cast<GroupId>(e.groups.size() - 1);
  const bool both = p.side == Side::both, feature = kind != 'v' && kind != 'w';
  const bool through = hubs.top != Wiring::kNone && hubs.bottom != Wiring::kNone;
  Node top = Wiring::kNone, bottom = Wiring::kNone;
  const bool lone_bottom = both && hubs.bottom == Wiring::kNone,
             lone_top = both && hubs.top == Wiring::kNone && !lone_bottom;
  if (p.side != Side::bottom) top = end_of(hubs.top, p, feature && !lone_top, feature || through);
  if (p.side != Side::top)
    bottom = end_of(hubs.bottom, p, feature && !lone_bottom, feature || through);
  if (both) {
    p.join = e.joins.size();
    expect::Join join;
    join.at = p.at;
    join.conducts = true;
    join.kind = kind_;
    join.diameter = from_mm(1);
    e.joins.push_back(std::move(join));
    const Node metal = node(p.at, false, false);
    const std::uint32_t id = through ? entry(FaultKind::join, p.at) : Wiring::kNone;
    board_.faults.wiring.edges.push_back({metal, top, id, true});
    board_.faults.wiring.edges.push_back({metal, bottom, id, true});
  }
  board_.faults.top_node.push_back(top);
  board_.faults.bottom_node.push_back(bottom);
  e.groups.back().points.push_back(static_cast<PointId>(e.points.size()));
  e.points.push_back(std::move(p));
}

Nets& Nets::net(const std::string& kinds) {
  auto& e = board_.expectation;
  const auto has = [&](char k) { return kinds.find(k) != std::string::npos; };
  e.groups.emplace_back().net = "N" + std::to_string(e.groups.size());
  board_.faults.islands_of_piece.push_back({});
  board_.faults.groups_of_piece.push_back({static_cast<GroupId>(e.groups.size() - 1)});
  board_.faults.wiring.kin.push_back(static_cast<std::uint32_t>(near_.size()));
  Hubs hubs;
  const auto first = static_cast<Node>(board_.faults.wiring.nodes.size());
  if (kinds.size() > 1) {
    const Position at = position_mm(-1, 2.54 * static_cast<double>(near_.size()));
    if (has('t') || has('w') || !has('b')) hubs.top = node(at, false, false);
    if (has('b')) hubs.bottom = node(at, false, false);
  }
  const std::size_t joins = e.joins.size();
  const std::string name = e.groups.back().net;
  for (std::size_t i = 0; i < kinds.size(); ++i) place_point(name, kinds[i], i + 1, hubs);
  // Several joins between the hubs: their ends hang on more than one way.
  const bool ring = hubs.top != Wiring::kNone && hubs.bottom != Wiring::kNone;
  for (Node n = first; ring && e.joins.size() > joins + 1 && n < board_.faults.wiring.nodes.size();
       ++n) {
    const auto& points = board_.faults.points_of_node[n];
    if (!board_.faults.wiring.nodes[n].feature || !e.point(points.front()).join) continue;
    board_.faults.wiring.ways.push_back(
        {n, entry(FaultKind::ways, board_.faults.place_of_node[n])});
  }
  near_.push_back(first);
  return *this;
}

Nets& Nets::pair(std::size_t a, std::size_t b) {
  expect::Pair p;
  p.a = static_cast<GroupId>(std::min(a, b));
  p.b = static_cast<GroupId>(std::max(a, b));
  board_.expectation.pairs.push_back(p);
  const std::uint32_t id = entry(FaultKind::bridge, board_.faults.place_of_node[near_[a]]);
  board_.faults.entries[id].piece = static_cast<std::uint32_t>(std::min(a, b));
  board_.faults.entries[id].other = static_cast<std::uint32_t>(std::max(a, b));
  board_.faults.wiring.facings.push_back({near_[a], near_[b], id});
  return *this;
}

}  // namespace isthmus::test
