// SPDX-License-Identifier: Apache-2.0
#include "diagnose/facts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "diagnose/wires.hpp"

namespace isthmus::diagnose {
namespace {

using expect::FaultState;
using expect::PossibleFault;
using expect::Wiring;

// Isolation readings of one placement as facts: every source that was proven to touch against every
// such return. Pairs in doubt, or known to conduct, give none.
void add_isolation(const Study& s, std::size_t placement, expect::Facts& facts) {
  const TouchedNodes& nodes = s.nodes;
  const bool by_hand = s.plan.placements[placement].round.has_value();
  const Isolation& iso = s.isolation[placement];
  std::set<std::pair<Channel, Channel>> never(iso.doubtful());
  for (const BadPair& b : iso.bad()) never.insert({b.a, b.b});
  std::set<std::pair<std::uint32_t, std::uint32_t>> done;
  for (const IsolationReading& r : s.evidence.isolations(placement)) {
    if (!iso.surely_isolated(r)) continue;
    const auto proven = [&](const std::vector<Channel>& channels, int row) {
      std::vector<std::pair<Channel, std::uint32_t>> list;
      for (const Channel c : channels) {
        if (!iso.surely_touched(row, c, r)) continue;
        for (const std::uint32_t n : nodes.proven_around(placement, c)) list.emplace_back(c, n);
      }
      return list;
    };
    const auto sources = proven(r.source, 1), returns = proven(r.ret, 2);
    for (const auto& [a, na] : sources) {
      for (const auto& [b, nb] : returns) {
        if (na == nb || never.contains(std::minmax(a, b)) || iso.unheard(a, b)) continue;
        if (by_hand && s.landings.unsettled(s, placement, a, b)) continue;
        if (done.insert(std::minmax(na, nb)).second) facts.two_pieces.push_back({na, nb});
      }
    }
  }
  for (const BadPair& b : iso.bad()) {
    if (by_wires(s, placement, b.a, b.b)) continue;
    for (const std::uint32_t x : nodes.under(placement, b.a)) {
      for (const std::uint32_t y : nodes.under(placement, b.b)) {
        facts.touched.insert(facts.touched.end(), {x, y});
        facts.one_piece.push_back({x, y});
      }
    }
  }
}

class Counter {
 public:
  Counter(const Study& s, const expect::Derived& derived, bool complete, Diagnosis& d)
      : s_(s), derived_(derived), complete_(complete), d_(d) {
    for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
      for (const plan::Probe& probe : s.plan.placements[p].probes) {
        for (const std::uint32_t node : s.nodes.under(p, probe.channel)) {
          if (derived.component[node] != Wiring::kNone) continue;
          Unproven& u = unproven_.try_emplace(node, Unproven{&probe}).first->second;
          u.missing = u.missing || s.evidence.touch(p, probe.channel) == Touch::missing;
        }
      }
    }
  }

  void run() {
    d_.states = derived_.state;
    double all = 0, told = 0;
    std::map<std::pair<std::uint32_t, std::uint32_t>, FaultState> pairs;  // of pieces
    for (std::size_t e = 0; e < d_.states.size(); ++e) {
      const PossibleFault& f = s_.board.faults.entries[e];
      FaultState& state = d_.states[e];
      if (f.waived && state != FaultState::found) state = FaultState::waived;
      if (expect::is_break(f.kind)) {
        count(d_.breaks, state);
        d_.breaks.unless_bridged += f.unless_bridged && state == FaultState::excluded;
        d_.parallel_joins += f.kind == expect::FaultKind::join && state == FaultState::harmless;
      } else {
        FaultState& worst = pairs.try_emplace(std::minmax(f.piece, f.other), state).first->second;
        if (rank(state) > rank(worst)) worst = state;
      }
      all += f.likelihood;
      if (state != FaultState::cannot_tell && state != FaultState::found) told += f.likelihood;
    }
    for (const auto& [pair, state] : pairs) count(d_.bridges, state);
    d_.likelihood_excluded = all > 0 ? told / all : 1;
    auto tell = derived_.would_tell.begin();
    std::vector<bool> no_touch;
    for (std::uint32_t e = 0; e < d_.states.size(); ++e) {
      if (d_.states[e] != FaultState::cannot_tell) continue;
      if (no_touch.empty()) no_touch = expect::told_by_no_touch(s_.board.faults.wiring);
      while (tell != derived_.would_tell.end() && tell->entry < e) ++tell;
      const bool known = tell != derived_.would_tell.end() && tell->entry == e;
      if (no_touch[e])
        name_untouchable(e);
      else
        name(e, known ? tell->p : Wiring::kNone, known ? tell->q : Wiring::kNone);
    }
  }

 private:
  // Of several facings of one pair the worst is told.
  static int rank(FaultState s) {
    constexpr std::array kOrder{FaultState::harmless, FaultState::excluded, FaultState::waived,
                                FaultState::cannot_tell, FaultState::found};
    return static_cast<int>(std::ranges::find(kOrder, s) - kOrder.begin());
  }

  static void count(FaultCounts& c, FaultState state) {
    ++c.listed;
    switch (state) {
      case FaultState::excluded:
        ++c.excluded;
        return;
      case FaultState::harmless:
        ++c.harmless;
        return;
      case FaultState::found:
        ++c.found;
        return;
      case FaultState::cannot_tell:
        ++c.cannot_tell;
        return;
      case FaultState::waived:
        ++c.waived;
        return;
    }
  }

  [[nodiscard]] CannotTell named(const PossibleFault& f) const {
    CannotTell c;
    c.kind = f.kind;
    c.at = f.at;
    c.side = expect::side_name(f, s_.board.copper.layers);
    add_nets(f.piece, c);
    if (f.other != f.piece) add_nets(f.other, c);
    std::ranges::sort(c.nets);
    c.nets.erase(std::unique(c.nets.begin(), c.nets.end()), c.nets.end());
    return c;
  }

  // Whatever the run was like: another would tell no more.
  void name_untouchable(std::uint32_t e) {
    d_.cannot_tell.push_back(named(s_.board.faults.entries[e]));
    d_.cannot_tell.back().why = WhyCannotTell::no_touch;
  }

  void name(std::uint32_t e, std::uint32_t p, std::uint32_t q) {
    const PossibleFault& f = s_.board.faults.entries[e];
    CannotTell c = named(f);
    bool probed = true, no_contact = false;
    bool reopened = derived_.reopened[f.piece] || derived_.reopened[f.other];
    for (const std::uint32_t n : {p, q}) {
      if (n == Wiring::kNone) continue;
      // The neighbour that could hide a break has a fault of its own.
      reopened = reopened || derived_.reopened[s_.board.faults.wiring.nodes[n].piece];
      const auto tip = unproven_.find(n);
      probed = probed && (tip != unproven_.end() || derived_.component[n] != Wiring::kNone);
      no_contact = no_contact || (tip != unproven_.end() && tip->second.missing);
      add_place(n, c);
    }
    c.why = reopened               ? WhyCannotTell::reopened
            : !complete_           ? WhyCannotTell::broken_off
            : p == Wiring::kNone   ? WhyCannotTell::doubtful
            : probed || no_contact ? WhyCannotTell::contact_unproven
                                   : WhyCannotTell::not_reached;
    d_.cannot_tell.push_back(std::move(c));
  }

  // Under the name by which a probe stands there, if one does.
  void add_place(std::uint32_t node, CannotTell& c) const {
    const auto& points = s_.board.faults.points_of_node[node];
    const auto tip = unproven_.find(node);
    if (points.empty() && tip == unproven_.end()) return;
    const PointId point = tip == unproven_.end() ? points.front() : tip->second.probe->point;
    const std::string& id = s_.board.expectation.point(point).id;
    c.points.push_back(id);
    c.would_tell.push_back(id);
    const std::uint32_t top = s_.board.faults.node_of(point, Side::top),
                        bottom = s_.board.faults.node_of(point, Side::bottom);
    const bool either = top != Wiring::kNone && bottom != Wiring::kNone;
    c.from.push_back(tip == unproven_.end()
                         ? CannotTell::From{node == top ? Side::top : Side::bottom, either, false}
                         : CannotTell::From{tip->second.probe->side, either, tip->second.missing});
  }

  void add_nets(std::uint32_t piece, CannotTell& c) const {
    const auto& groups = s_.board.faults.groups_of_piece[piece];
    if (groups.empty())
      c.nets.push_back(fmt::format("#{}", index(s_.board.faults.islands_of_piece[piece].front())));
    for (const GroupId g : groups) c.nets.push_back(s_.board.expectation.group(g).net);
  }

  // A probe whose touch nothing proves.
  struct Unproven {
    const plan::Probe* probe{};
    bool missing{};  // and it was read to touch no metal
  };

  const Study& s_;
  const expect::Derived& derived_;
  std::map<std::uint32_t, Unproven> unproven_;  // by node that nothing is known to touch
  bool complete_;
  Diagnosis& d_;
};

}  // namespace

expect::Facts conducting_facts(const plan::Plan& plan, const Evidence& evidence,
                               const TouchedNodes& nodes) {
  expect::Facts facts;
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const plan::Probe& probe : plan.placements[p].probes) {
      const auto& under = nodes.under(p, probe.channel);
      if (under.size() == 1 && evidence.touch(p, probe.channel) == Touch::proven)
        facts.touched.push_back(under.front());
    }
    for (const auto& [pair, heard] : evidence.heard(p)) {
      if (!heard.conducts()) continue;
      for (const auto& [a, b] : nodes.said_by_copper(p, pair.first, pair.second)) {
        facts.touched.insert(facts.touched.end(), {a, b});
        facts.one_piece.push_back({a, b});
      }
    }
  }
  return facts;
}

expect::Facts facts_of(const Study& s) {
  expect::Facts facts = conducting_facts(s.plan, s.evidence, s.nodes);
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      const auto &a = s.nodes.under(p, pair.first), &b = s.nodes.under(p, pair.second);
      if (a.empty() || b.empty() || heard.highs == 0) continue;
      const plan::Placement& placement = s.plan.placements[p];
      if (placement.round &&
          !s.fragments.apart_by_hand(placement.probe(pair.first), placement.probe(pair.second)))
        continue;
      if (s.evidence.touch(p, pair.first) != Touch::proven ||
          s.evidence.touch(p, pair.second) != Touch::proven)
        continue;
      for (const std::uint32_t x : a) {
        for (const std::uint32_t y : b) facts.two_pieces.push_back({x, y});
      }
    }
    add_isolation(s, p, facts);
  }
  return facts;
}

void derive_states(const Study& s, bool complete, Diagnosis& d) {
  Counter(s, expect::derive(s.board.faults.wiring, facts_of(s)), complete, d).run();
}

}  // namespace isthmus::diagnose
