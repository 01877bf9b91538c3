// SPDX-License-Identifier: Apache-2.0
#include "diagnose/findings.hpp"

#include <algorithm>
#include <cmath>

#include "diagnose/bridging_wires.hpp"
#include "diagnose/suspects.hpp"
#include "diagnose/wires.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::diagnose {
namespace {

// A fragment of a group, as one vertex of the graph of unwanted conduction.
struct Piece {
  GroupId group{};
  FragmentId fragment{};
  auto operator<=>(const Piece&) const = default;
};

struct Edge {
  Piece a, b;
  double ohms{}, uncertainty{};
};

std::optional<Piece> piece_on(const Study& s, std::size_t placement, Channel channel) {
  const plan::Probe& probe = s.plan.placements[placement].probe(channel);
  const auto& group = s.board.expectation.point(probe.point).group;
  if (!group) return std::nullopt;
  return Piece{*group, s.fragments.fragment(probe)};
}

// What conducts through wires that touch, and what those wires only lead on to another bridge.
void leave_out_wires(const std::set<std::pair<Piece, Piece>>& by_wire,
                     std::map<std::pair<Piece, Piece>, Edge>& edges) {
  for (const auto& key : by_wire) edges.erase(key);
  const auto led_on = [&](const Edge& e) {
    return std::ranges::any_of(by_wire, [&](const auto& wire) {
      for (const auto& [one, other] : {wire, std::pair{wire.second, wire.first}}) {
        if (one != e.a && one != e.b) continue;
        const auto beyond = edges.find(std::minmax(other, one == e.a ? e.b : e.a));
        if (beyond != edges.end() && beyond->second.ohms < e.ohms) return true;
      }
      return false;
    });
  };
  std::vector<std::pair<Piece, Piece>> out;
  for (const auto& [key, edge] : edges) {
    if (led_on(edge)) out.push_back(key);
  }
  for (const auto& key : out) edges.erase(key);
}

std::vector<Edge> bad_edges(const Study& s) {
  std::map<std::pair<Piece, Piece>, Edge> edges;
  std::set<std::pair<Piece, Piece>> by_wire;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    for (const BadPair& bad : s.isolation[p].bad()) {
      auto a = piece_on(s, p, bad.a), b = piece_on(s, p, bad.b);
      if (!a || !b || *a == *b) continue;
      if (*b < *a) std::swap(a, b);
      if (by_wires(s, p, bad.a, bad.b)) by_wire.insert({*a, *b});
      // Without the switches, where it was measured again by current.
      const auto [ohms, uncertainty] =
          s.evidence.by_current(p, bad.a, bad.b).value_or(std::pair{bad.ohms, bad.uncertainty});
      const auto [it, fresh] = edges.emplace(std::pair{*a, *b}, Edge{*a, *b, ohms, uncertainty});
      if (!fresh && ohms < it->second.ohms) it->second = {*a, *b, ohms, uncertainty};
    }
  }
  leave_out_wires(by_wire, edges);
  std::vector<Edge> list;
  for (auto& [key, edge] : edges) list.push_back(edge);
  return list;
}

// Resistance of the best chain of other bad edges between the ends of edge `but` (infinite when
// none): such an edge needs no fault of its own.
double detour(const std::vector<Edge>& edges, std::size_t but) {
  std::map<Piece, double> reach{{edges[but].a, 0}};
  for (std::size_t round = 0; round < edges.size(); ++round) {
    bool better = false;
    for (std::size_t i = 0; i < edges.size(); ++i) {
      if (i == but) continue;
      for (auto [from, to] :
           {std::pair{edges[i].a, edges[i].b}, std::pair{edges[i].b, edges[i].a}}) {
        const auto it = reach.find(from);
        if (it == reach.end()) continue;
        const double ohms = it->second + edges[i].ohms;
        const auto [at, fresh] = reach.emplace(to, ohms);
        if (fresh || ohms < at->second) at->second = ohms, better = true;
      }
    }
    if (!better) break;
  }
  const auto end = reach.find(edges[but].b);
  return end == reach.end() ? INFINITY : end->second;
}

bool neighbours(const Study& s, GroupId a, GroupId b) {
  return std::ranges::any_of(s.board.expectation.pairs, [&](const expect::Pair& p) {
    return p.a == std::min(a, b) && p.b == std::max(a, b);
  });
}

std::vector<PointId> points_of(const Study& s, const Piece& piece) {
  for (const Fragment& fragment : s.fragments.of_group(piece.group)) {
    if (fragment.id == piece.fragment) return fragment.points;
  }
  return {};
}

Finding finding_of(const Study& s, FindingKind kind, std::vector<Piece> pieces,
                   const Edge& strongest) {
  Finding f;
  f.kind = kind;
  std::ranges::sort(pieces, [&](const Piece& a, const Piece& b) {
    const auto& na = s.board.expectation.group(a.group).net;
    const auto& nb = s.board.expectation.group(b.group).net;
    return na != nb ? na < nb : a < b;
  });
  std::vector<GroupId> groups;
  for (const Piece& p : pieces) {
    f.nets.push_back(s.board.expectation.group(p.group).net);
    f.parts.push_back(names_of(s.board, points_of(s, p)));
    groups.push_back(p.group);
  }
  f.measured = Ohms{strongest.ohms};
  f.uncertainty = Ohms{strongest.uncertainty};
  f.limit = s.board.design.board.limits.isolation;
  f.suspects = bridge_suspects(s.board, groups);
  return f;
}

// Which pieces conduct to each other well enough to be one.
class Bridged {
 public:
  Bridged(const std::vector<Edge>& edges, double below_ohms)
      : pieces_(pieces_of(edges)), sets_(pieces_.size()) {
    for (const Edge& e : edges) {
      if (e.ohms < below_ohms) sets_.unite(place(e.a), place(e.b));
    }
  }
  // The lowest piece of those that `p` is one with.
  [[nodiscard]] Piece root(Piece p) const { return pieces_[sets_.find(place(p))]; }

 private:
  static std::vector<Piece> pieces_of(const std::vector<Edge>& edges) {
    std::set<Piece> all;
    for (const Edge& e : edges) all.insert({e.a, e.b});
    return {all.begin(), all.end()};
  }
  [[nodiscard]] std::size_t place(Piece p) const {
    return static_cast<std::size_t>(std::ranges::lower_bound(pieces_, p) - pieces_.begin());
  }

  std::vector<Piece> pieces_;  // ascending
  Sets sets_;
};

}  // namespace

Study::Study(const expect::Board& b, const plan::Plan& p, std::span<const plan::Reading> readings,
             Harness h)
    : board(b),
      plan(p),
      harness(std::move(h)),
      evidence(p, readings),
      nodes(b, p, evidence),
      fragments(b, p, evidence, nodes) {
  for (std::size_t i = 0; i < p.placements.size(); ++i)
    isolation.emplace_back(b, p, evidence, fragments, i);
  landings = settle_landings(*this);
  fitted = diagnose::fitted(b, p, evidence);
  for (std::size_t i = 0; i < p.placements.size(); ++i) {
    for (const BadPair& bad : isolation[i].bad()) {
      if (const auto wires = bridging_wires(b, p, evidence, i, bad).touching)
        harness.touching.insert(*wires);
    }
  }
}

namespace {

// Only fragments that were heard apart from some other are proven; the rest is untested.
std::optional<Finding> open_finding(const Study& s, const std::vector<GroupId>& groups) {
  std::vector<Fragment> fragments;
  std::set<std::string> nets;
  for (const GroupId g : groups) {
    nets.insert(s.board.expectation.group(g).net);
    for (Fragment& f : s.fragments.of_group(g)) fragments.push_back(std::move(f));
  }
  std::vector<std::vector<PointId>> parts;
  for (const Fragment& f : fragments) {
    const bool apart = std::ranges::any_of(
        fragments, [&](const Fragment& o) { return s.fragments.apart(f.id, o.id); });
    if (apart) parts.push_back(f.points);
  }
  if (parts.size() < 2) return std::nullopt;
  Finding finding;
  finding.kind = FindingKind::open;
  finding.nets.assign(nets.begin(), nets.end());
  for (const auto& part : parts) finding.parts.push_back(names_of(s.board, part));
  finding.limit = s.board.design.board.limits.continuity;
  finding.suspects = open_suspects(s.board, parts);
  return finding;
}

}  // namespace

std::vector<std::string> names_of(const expect::Board& board, const std::vector<PointId>& points) {
  std::vector<std::string> list;
  for (PointId p : points) list.push_back(board.expectation.point(p).id);
  return list;
}

std::vector<Finding> open_findings(const Study& s) {
  std::vector<Finding> list;
  for (std::size_t g = 0; g < s.board.expectation.groups.size(); ++g) {
    if (auto f = open_finding(s, {GroupId{static_cast<std::uint32_t>(g)}}))
      list.push_back(std::move(*f));
  }
  // A drawn tie that is cut: each net whole, and the two apart.
  for (const std::vector<GroupId>& groups : s.board.faults.groups_of_piece) {
    for (std::size_t i = 0; i < groups.size(); ++i) {
      for (std::size_t k = i + 1; k < groups.size(); ++k) {
        const bool whole = s.fragments.of_group(groups[i]).size() == 1 &&
                           s.fragments.of_group(groups[k]).size() == 1;
        if (!whole || !expect::may_conduct(s.board, groups[i], groups[k])) continue;
        if (auto f = open_finding(s, {groups[i], groups[k]})) list.push_back(std::move(*f));
      }
    }
  }
  return list;
}

std::vector<Finding> resistance_findings(const Study& s) {
  struct Worst {
    double over{};
    Shown shown;
    std::set<PointId> high, fine;  // points of the net by how they were heard from the same hub
    PointId hub{};
  };
  std::map<GroupId, Worst> worst;
  const auto excess = [&](const Heard& h) { return excess_of(s.board, s.plan, h, s.fitted); };
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    const auto under = [&](Channel c) { return s.plan.placements[p].probe(c).point; };
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (excess(heard) != Excess::copper) continue;
      const bool by_hand = s.plan.placements[p].round.has_value();
      if (by_hand ? !high_by_hand(s, p, pair) : heard.lows.size() < 2) continue;
      const auto group = s.board.expectation.point(under(pair.first)).group;
      if (!group) continue;
      const Shown now = shown(s.board, heard, s.fitted);
      const double over = now.measured - now.limit;
      Worst& w = worst.try_emplace(*group, Worst{-INFINITY, {}, {}, {}, {}}).first->second;
      if (over <= w.over) continue;
      w = {over, now, {}, {}, under(pair.first)};
      for (const auto& [other, h] : s.evidence.heard(p)) {
        if ((other.first != pair.first && other.second != pair.first) || !h.conducts()) continue;
        const PointId far = under(other.first == pair.first ? other.second : other.first);
        (excess(h) != Excess::none ? w.high : w.fine).insert(far);
      }
      w.high.insert(under(pair.second));
    }
  }
  std::vector<Finding> list;
  for (const auto& [group, w] : worst) {
    Finding f;
    f.kind = FindingKind::high_resistance;
    f.nets = {s.board.expectation.group(group).net};
    std::vector<PointId> near(w.fine.begin(), w.fine.end()), far(w.high.begin(), w.high.end());
    near.insert(near.begin(), w.hub);
    std::ranges::sort(near);
    f.parts = {names_of(s.board, near), names_of(s.board, far)};
    f.measured = Ohms{w.shown.measured};
    f.limit = Ohms{w.shown.limit};
    f.uncertainty = Ohms{w.shown.uncertainty};
    f.suspects = neck_suspects(s.board, near, far);
    list.push_back(std::move(f));
  }
  return list;
}

// True if these two groups must never conduct.
bool forbidden(const Study& s, const Edge& e) {
  return e.a.group != e.b.group && !expect::may_conduct(s.board, e.a.group, e.b.group);
}

std::set<std::string> joined_early(const Study& s) {
  std::set<std::string> nets;
  for (const Edge& e : bad_edges(s)) {
    const std::string& net = s.board.expectation.group(e.a.group).net;
    if (e.a.group != e.b.group && !forbidden(s, e) &&
        net == s.board.expectation.group(e.b.group).net)
      nets.insert(net);
  }
  return nets;
}

std::vector<Finding> isolation_findings(const Study& s) {
  const std::vector<Edge> edges = bad_edges(s);
  const double bridge = s.board.design.board.limits.bridge.value;
  const Bridged merge(edges, bridge);
  std::map<Piece, Edge> strongest;
  std::map<Piece, std::set<Piece>> members;
  for (const Edge& e : edges) {
    if (e.ohms >= bridge) continue;
    const Piece r = merge.root(e.a);
    members[r].insert({e.a, e.b});
    if (!forbidden(s, e)) continue;
    const auto [it, fresh] = strongest.emplace(r, e);
    if (!fresh && e.ohms < it->second.ohms) it->second = e;
  }
  std::vector<Finding> list;
  for (const auto& [root, edge] : strongest) {
    const std::set<Piece>& pieces = members.at(root);
    list.push_back(finding_of(s, FindingKind::bridge, {pieces.begin(), pieces.end()}, edge));
  }
  // Leakages: one for each two sets that leak, at the two nets that lie side by side.
  std::map<std::pair<Piece, Piece>, Edge> leaks;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const Edge& e = edges[i];
    const Piece ra = merge.root(e.a), rb = merge.root(e.b);
    if (e.ohms < bridge || ra == rb || !forbidden(s, e)) continue;
    if (!neighbours(s, e.a.group, e.b.group) && detour(edges, i) <= 1.3 * e.ohms) continue;
    const auto key = std::pair{std::min(ra, rb), std::max(ra, rb)};
    const auto it = leaks.find(key);
    const bool closer = it != leaks.end() && neighbours(s, e.a.group, e.b.group) &&
                        !neighbours(s, it->second.a.group, it->second.b.group);
    if (it == leaks.end() || closer) leaks[key] = e;
  }
  for (const auto& [key, e] : leaks)
    list.push_back(finding_of(s, FindingKind::leakage, {e.a, e.b}, e));
  return list;
}

}  // namespace isthmus::diagnose
