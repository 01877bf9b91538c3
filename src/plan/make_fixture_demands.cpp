// SPDX-License-Identifier: Apache-2.0
#include "plan/make_fixture_demands.hpp"

#include <algorithm>
#include <set>

#include "plan/sides.hpp"

namespace isthmus::plan {

using expect::Wiring;

Demands::Demands(const expect::Board& board, Nanometres tip)
    : board_(board), usual_(usual_side(board)) {
  const auto& e = board.expectation;
  for (const Side s : {Side::top, Side::bottom}) {
    SideDemand& demand = sides_[s == Side::bottom];
    demand.side = s;
    demand.wanted.resize(e.groups.size());
    demand.usable.resize(e.groups.size());
    demand.spots = find_spots(board, s, tip);
  }
  for (std::size_t g = 0; g < e.groups.size(); ++g) share_out(g);
  for (const expect::Pair& pair : e.pairs) share_out_pair(index(pair.a), index(pair.b));
  while (answer(facts_so_far())) {
  }
}

void Demands::share_out(std::size_t g) {
  const Side home = home_of(board_, board_.expectation.groups[g], usual_);
  for (const PointId id : board_.expectation.groups[g].points) {
    const expect::Point& p = board_.expectation.point(id);
    if (p.waived) continue;
    for (SideDemand& demand : sides_) {
      if (reaches(demand.side, p.side)) demand.usable[g].push_back(demand.spots.plate(id));
    }
    if (!p.required) continue;
    const Side side = p.side == Side::both ? home : p.side;
    SideDemand& demand = sides_[side == Side::bottom];
    demand.wanted[g].push_back(demand.spots.plate(id));
  }
  for (SideDemand& d : sides_) {
    std::ranges::sort(d.wanted[g]);
    std::stable_partition(d.usable[g].begin(), d.usable[g].end(),
                          [&](SpotId s) { return std::ranges::binary_search(d.wanted[g], s); });
  }
}

void Demands::share_out_pair(std::size_t a, std::size_t b) {
  for (SideDemand& demand : sides_) {
    if (demand.wanted[a].empty() || demand.wanted[b].empty()) continue;
    demand.pairs.push_back({a, b});
    return;
  }
}

// As if every wanted spot of a group were tied from its side, and every pair met.
expect::Facts Demands::facts_so_far() const {
  expect::Facts facts;
  for (const SideDemand& demand : sides_) {
    const auto node = [&](SpotId s) {
      const Side from = demand.spots.behind(s) ? other(demand.side) : demand.side;
      return board_.faults.node_of(demand.spots.point(s), from);
    };
    for (const auto& wanted : demand.wanted) {
      for (const SpotId s : wanted) {
        facts.touched.push_back(node(s));
        facts.one_piece.push_back({node(wanted.front()), node(s)});
      }
    }
    for (const auto& [a, b] : demand.pairs) {
      const std::uint32_t p = node(demand.wanted[a].front()), q = node(demand.wanted[b].front());
      const Wiring& w = board_.faults.wiring;
      if (w.nodes[p].piece == w.nodes[q].piece)
        facts.one_piece.push_back({p, q});
      else if (!w.may_conduct(w.nodes[p].piece, w.nodes[q].piece))
        facts.two_pieces.push_back({p, q});
    }
  }
  return facts;
}

bool Demands::answer(const expect::Facts& facts) {
  derived_ = expect::derive(board_.faults.wiring, facts);
  bool more = false;
  std::set<std::pair<std::uint32_t, std::uint32_t>> done;
  for (const expect::WouldTell& w : derived_.would_tell) {
    if (w.p == Wiring::kNone || w.q == Wiring::kNone || w.p == w.q) continue;
    if (board_.faults.entries[w.entry].waived || !done.insert({w.p, w.q}).second) continue;
    const bool fresh_p = touch(w.p), fresh_q = touch(w.q);
    more |= fresh_p || fresh_q;
    if (!fresh_p && !fresh_q) more |= bring_together(w.p, w.q);
  }
  return more;
}

std::size_t Demands::group_of(PointId p) const { return index(*board_.expectation.point(p).group); }

// The points that a touch of this node would touch, and from where.
std::vector<Demands::Use> Demands::uses_of(std::uint32_t node) const {
  std::vector<Use> uses;
  for (const PointId p : board_.faults.points_of_node[node]) {
    const expect::Point& point = board_.expectation.point(p);
    if (!point.group) continue;
    for (const Side s : {Side::top, Side::bottom}) {
      if (board_.faults.node_of(p, s) == node && reaches(s, point.side)) uses.push_back({p, s});
    }
  }
  // What somebody asks for anyway comes first, then what no waiver names.
  std::ranges::stable_sort(uses, {}, [&](const Use& u) {
    const expect::Point& p = board_.expectation.point(u.point);
    return (p.waived ? 2 : 0) + (p.required ? 0 : 1);
  });
  return uses;
}

bool Demands::want(SideDemand& demand, std::size_t group, SpotId spot) {
  auto& wanted = demand.wanted[group];
  const auto at = std::ranges::lower_bound(wanted, spot);
  if (at != wanted.end() && *at == spot) return false;
  wanted.insert(at, spot);
  return true;
}

// Makes sure that the node is touched; false where it is already, or cannot be.
bool Demands::touch(std::uint32_t node) {
  if (derived_.component[node] != Wiring::kNone) return false;
  const auto uses = uses_of(node);
  if (uses.empty()) return false;
  const Use use = uses.front();
  SideDemand &demand = sides_[use.side == Side::bottom], &opposite = sides_[use.side == Side::top];
  const std::size_t group = group_of(use.point);
  // A plate for that alone would be more work than a clip behind.
  const bool plate = std::ranges::any_of(demand.wanted, [](const auto& w) { return !w.empty(); });
  if (plate || opposite.wanted[group].empty())
    return want(demand, group, demand.spots.plate(use.point));
  return want(opposite, group, opposite.spots.clip(use.point));
}

std::vector<std::uint32_t> Demands::touched_with(std::uint32_t node,
                                                 const expect::Derived& derived) const {
  std::vector<std::uint32_t> nodes;
  const Wiring& w = board_.faults.wiring;
  for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
    if (w.nodes[n].piece == w.nodes[node].piece && derived.component[n] != Wiring::kNone &&
        derived.component[n] == derived.component[node])
      nodes.push_back(n);
  }
  return nodes;
}

// A hole holds a clip or hook, a large pad is next.
std::optional<Demands::Use> Demands::easiest_clip(const std::vector<std::uint32_t>& nodes,
                                                  Side side) const {
  std::optional<Use> best;
  std::tuple<int, std::int64_t> best_ease;
  for (const std::uint32_t n : nodes) {
    for (const Use& u : uses_of(n)) {
      if (u.side != side) continue;
      const expect::Point& p = board_.expectation.point(u.point);
      const std::tuple ease{p.join ? (p.via ? 1 : 2) : 0, p.size.value};
      if (best && ease <= best_ease) continue;
      best = u;
      best_ease = ease;
    }
  }
  return best;
}

bool Demands::meet(SideDemand& demand, std::size_t a, std::size_t b) {
  if (a == b || demand.wanted[a].empty() || demand.wanted[b].empty()) return false;
  const std::pair pair{std::min(a, b), std::max(a, b)};
  if (std::ranges::find(demand.pairs, pair) != demand.pairs.end()) return false;
  demand.pairs.push_back(pair);
  return true;
}

// Two touched nodes, to be read to each other: from one side where both are touched from it, else
// with a clip behind.
bool Demands::bring_together(std::uint32_t p, std::uint32_t q) {
  const auto ps = touched_with(p, derived_), qs = touched_with(q, derived_);
  const auto group_on = [&](const std::vector<std::uint32_t>& nodes,
                            const SideDemand& demand) -> std::optional<std::size_t> {
    for (const std::uint32_t n : nodes) {
      for (const Use& u : uses_of(n)) {
        const std::size_t g = group_of(u.point);
        const SpotId spot =
            u.side == demand.side ? demand.spots.plate(u.point) : demand.spots.clip(u.point);
        if (std::ranges::binary_search(demand.wanted[g], spot)) return g;
      }
    }
    return std::nullopt;
  };
  bool same_side = false;
  for (SideDemand& demand : sides_) {
    const auto a = group_on(ps, demand), b = group_on(qs, demand);
    if (!a || !b) continue;
    same_side = true;
    if (meet(demand, *a, *b)) return true;
  }
  if (same_side) return false;
  for (const Side host : {usual_, other(usual_)}) {
    SideDemand& demand = sides_[host == Side::bottom];
    for (const auto& [mine, theirs] : {std::pair(&ps, &qs), std::pair(&qs, &ps)}) {
      const auto a = group_on(*mine, demand);
      const auto clip = easiest_clip(*theirs, other(host));
      if (!a || !clip) continue;
      const std::size_t b = group_of(clip->point);
      const bool more = want(demand, b, demand.spots.clip(clip->point));
      return meet(demand, *a, b) || more;
    }
  }
  return false;
}

}  // namespace isthmus::plan
