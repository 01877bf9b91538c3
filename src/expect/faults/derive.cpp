// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <optional>

#include "expect/faults/isolated.hpp"
#include "expect/faults/ways.hpp"

namespace isthmus::expect {
namespace faults {
namespace {

// What is known of an entry, worst last: an entry of several edges or facings is no better than its
// worst; one that does no harm alone is as good as the rest of it.
int rank(FaultState s) {
  switch (s) {
    case FaultState::harmless:
    case FaultState::waived:
      return 0;
    case FaultState::excluded:
      return 1;
    case FaultState::found:
      return 2;
    case FaultState::cannot_tell:
      return 3;
  }
  return 3;
}

class Deriver {
 public:
  Deriver(const Wiring& wiring, const Facts& facts)
      : wiring_(wiring),
        graph_(wiring),
        joined_(join_touched(wiring, graph_, facts)),
        apart_(hold_apart(wiring, graph_, joined_, facts)),
        components_(components_of_pieces(joined_)),
        facings_(judge_facings(wiring, graph_, joined_, apart_)),
        ways_(wiring, graph_),
        touched_(wiring.nodes.size(), false),
        seen_(wiring.entries, false),
        tells_(wiring.entries) {
    for (const Index n : joined_.touched) touched_[n] = true;
    out_.state.assign(wiring.entries, FaultState::harmless);
  }

  Derived run() {
    for (Index f = 0; f < wiring_.facings.size(); ++f) take_facing(f);
    count_open_facings();
    Walk walk(graph_, wiring_.nodes.size());
    const std::vector<bool> all(wiring_.edges.size(), true);
    for (Index p = 0; p < graph_.pieces(); ++p) {
      if (graph_.nodes_of(p).empty()) continue;
      walk.run(graph_.nodes_of(p).front(), all);
      judge_edges(walk, p);
    }
    for (const Wiring::Ways& w : wiring_.ways) judge_ways(w);
    out_.component = joined_.component;
    out_.contradictions = apart_.contradictions;
    for (Index p = 0; p < graph_.pieces(); ++p)
      out_.reopened.push_back(apart_.merged[p] || apart_.doubtful[p] || parted(p));
    for (Index e = 0; e < wiring_.entries; ++e) {
      if (!seen_[e]) out_.state[e] = FaultState::cannot_tell;
      if (out_.state[e] == FaultState::cannot_tell && tells_[e])
        out_.would_tell.push_back({e, tells_[e]->a, tells_[e]->b});
    }
    return std::move(out_);
  }

 private:
  void set(Index entry, FaultState state, std::optional<Facts::Two> tell = std::nullopt) {
    if (entry == kNone) return;
    if (seen_[entry] && rank(state) <= rank(out_.state[entry])) return;
    seen_[entry] = true;
    out_.state[entry] = state;
    tells_[entry] = tell;
  }

  // A touched node of the piece, else one that can be.
  [[nodiscard]] Index place_on(Index piece) const {
    if (!joined_.of_piece[piece].empty()) return joined_.of_piece[piece].front();
    return best_place(graph_.nodes_of(piece));
  }

  [[nodiscard]] Index best_place(std::span<const Index> nodes) const {
    Index best = kNone;
    for (const Index n : nodes) {
      const Wiring::Node& node = wiring_.nodes[n];
      if (node.place && node.feature) return n;
      if (node.place && best == kNone) best = n;
    }
    return best;
  }

  [[nodiscard]] std::optional<Facts::Two> tell_of_facing(Index f) const {
    const FacingStates::Tell& t = facings_.tells[f];
    if (!t.any()) return std::nullopt;
    return Facts::Two{t.node_a == kNone ? place_on(t.piece_a) : t.node_a,
                      t.node_b == kNone ? place_on(t.piece_b) : t.node_b};
  }

  void take_facing(Index f) { set(wiring_.facings[f].entry, facings_.state[f], tell_of_facing(f)); }

  // Facings that are not excluded could carry current round a break. By node; and by piece what
  // would tell of the first.
  void count_open_facings() {
    open_.assign(wiring_.nodes.size(), 0);
    open_tell_.resize(graph_.pieces());
    for (Index f = 0; f < wiring_.facings.size(); ++f) {
      if (rank(facings_.state[f]) < rank(FaultState::found)) continue;
      for (const Index n : {wiring_.facings[f].a, wiring_.facings[f].b}) {
        ++open_[n];
        auto& tell = open_tell_[wiring_.nodes[n].piece];
        if (!tell) tell = tell_of_facing(f);
      }
    }
  }

  // Of what lies beyond each edge of the walk.
  struct Beyond {
    std::size_t open{};
    std::vector<Index> touched;  // one node of each component, ascending by component
    Index place{kNone};          // a feature that can be touched, else any place
    bool feature{};              // `place` is one
  };

  void add_to(Beyond& sum, Index node) const {
    sum.open += open_[node];
    if (joined_.component[node] != kNone) add_touched(sum, node);
    const Wiring::Node& n = wiring_.nodes[node];
    if (n.place && (sum.place == kNone || (n.feature && !sum.feature)))
      sum.place = node, sum.feature = n.feature;
  }

  void add_touched(Beyond& sum, Index node) const {
    const auto component = [&](Index n) { return joined_.component[n]; };
    const auto at = std::ranges::lower_bound(sum.touched, component(node), {}, component);
    if (at == sum.touched.end() || component(*at) != component(node)) sum.touched.insert(at, node);
  }

  void add_to(Beyond& sum, const Beyond& more) const {
    sum.open += more.open;
    for (const Index n : more.touched) add_touched(sum, n);
    if (more.place != kNone && (sum.place == kNone || (more.feature && !sum.feature)))
      sum.place = more.place, sum.feature = more.feature;
  }

  void judge_edges(const Walk& walk, Index piece) {
    const auto& order = walk.order();
    std::vector<Beyond> beyond(order.size());
    size_.assign(order.size(), 1);
    slot_.resize(wiring_.nodes.size(), kNone);
    for (Index i = 0; i < order.size(); ++i) {
      slot_[order[i]] = i;
      add_to(beyond[i], order[i]);
    }
    for (std::size_t i = order.size(); i-- > 1;) {
      const Index above = slot_[walk.up(order[i])];
      add_to(beyond[above], beyond[i]);
      size_[above] += size_[i];
    }
    for (const Index n : order) {
      for (const auto& [edge, to] : graph_.at(n)) {
        if (wiring_.edges[edge].a == n) judge_edge(walk, edge, piece, beyond);
      }
    }
  }

  void judge_edge(const Walk& walk, Index edge, Index piece, const std::vector<Beyond>& beyond) {
    const Wiring::Edge& e = wiring_.edges[edge];
    if (e.entry == kNone) return;
    const Index child = walk.up_edge(e.b) == edge ? e.b : walk.up_edge(e.a) == edge ? e.a : kNone;
    if (child == kNone || !walk.cut_edge(child)) {
      if (const auto tie = untied(piece)) return set(e.entry, FaultState::cannot_tell, tie);
      return set(e.entry, FaultState::harmless);
    }
    const Beyond& below = beyond[slot_[child]];
    const Beyond& whole = beyond.front();
    const bool doubt = apart_.doubtful[piece] || apart_.merged[piece];
    // One component on both sides: counted below, and not all of its nodes lie there.
    for (const Index n : below.touched) {
      if (!touched_above(child, joined_.component[n])) continue;
      const bool guarded = below.open == 0 || whole.open == below.open;
      if (guarded && !doubt) return set(e.entry, FaultState::excluded);
      return set(e.entry, FaultState::cannot_tell, open_tell_[piece]);
    }
    if (known_apart(below, piece)) return set(e.entry, FaultState::found);
    const Index low = below.touched.empty() ? below.place : below.touched.front();
    set(e.entry, FaultState::cannot_tell, Facts::Two{low, place_above(child)});
  }

  // Whether a touched node of that component lies on the near side of the edge above `child`.
  [[nodiscard]] bool touched_above(Index child, Index component) const {
    const Index piece = wiring_.nodes[child].piece;
    return std::ranges::any_of(joined_.of_piece[piece], [&](Index n) {
      return joined_.component[n] == component && !hangs_below(n, child);
    });
  }

  // The walk meets all that lies beyond an edge before anything else.
  [[nodiscard]] bool hangs_below(Index node, Index child) const {
    return slot_[node] >= slot_[child] && slot_[node] < slot_[child] + size_[slot_[child]];
  }

  [[nodiscard]] bool known_apart(const Beyond& below, Index piece) const {
    return std::ranges::any_of(below.touched, [&](Index n) {
      return std::ranges::any_of(components_[piece], [&](Index c) {
        return c != joined_.component[n] && apart_.known(c, joined_.component[n]);
      });
    });
  }

  [[nodiscard]] Index place_above(Index child) const {
    const Index piece = wiring_.nodes[child].piece;
    for (const Index n : joined_.of_piece[piece]) {
      if (!hangs_below(n, child)) return n;
    }
    std::vector<Index> rest;
    for (const Index n : graph_.nodes_of(piece)) {
      if (!hangs_below(n, child)) rest.push_back(n);
    }
    return best_place(rest);
  }

  [[nodiscard]] bool parted(Index piece) const {
    const auto& list = components_[piece];
    return std::ranges::any_of(list, [&](Index a) {
      return std::ranges::any_of(list, [&](Index b) { return a < b && apart_.known(a, b); });
    });
  }

  // Touched nodes of one piece that no reading ties, and none parts: several ways at once may be
  // lost between them.
  [[nodiscard]] std::optional<Facts::Two> untied(Index piece) const {
    const auto& list = components_[piece];
    for (std::size_t i = 0; i < list.size(); ++i) {
      for (std::size_t k = i + 1; k < list.size(); ++k) {
        if (!apart_.known(list[i], list[k]))
          return Facts::Two{first_of(piece, list[i]), first_of(piece, list[k])};
      }
    }
    return std::nullopt;
  }

  [[nodiscard]] Index first_of(Index piece, Index component) const {
    for (const Index n : joined_.of_piece[piece]) {
      if (joined_.component[n] == component) return n;
    }
    return kNone;
  }

  void judge_ways(const Wiring::Ways& w) {
    const Index piece = wiring_.nodes[w.node].piece, set_of = joined_.carried[w.node];
    const auto& touched = joined_.of_piece[piece];
    const bool doubt = apart_.doubtful[piece] || apart_.merged[piece];
    bool open = false;
    for (const Index n : graph_.nodes_of(piece)) open = open || open_[n] > 0;
    const bool hangs = set_of != kNone && std::ranges::any_of(touched, [&](Index n) {
                         return n != w.node && joined_.component[n] == set_of;
                       });
    if (const auto tie = untied(piece); hangs && tie)
      return set(w.entry, FaultState::cannot_tell, tie);
    if (hangs && !doubt && !open) return set(w.entry, FaultState::excluded);
    if (hangs) return set(w.entry, FaultState::cannot_tell, open_tell_[piece]);
    // Not touched itself: parted from all that is by so many faults, all joins one of them.
    if (joined_.component[w.node] == kNone && !touched.empty() && !doubt &&
        ways_.to_any(w.node, kMostFaults + 1, touched_) > kMostFaults)
      return set(w.entry, FaultState::harmless);
    const bool apart =
        joined_.component[w.node] != kNone && std::ranges::any_of(components_[piece], [&](Index c) {
          return apart_.known(c, joined_.component[w.node]);
        });
    if (apart) return set(w.entry, FaultState::found);
    Index other = kNone;
    for (const Index n : touched) {
      if (n != w.node && other == kNone) other = n;
    }
    if (other == kNone) {
      std::vector<Index> rest = graph_.nodes_of(piece);
      std::erase(rest, w.node);
      other = best_place(rest);
    }
    set(w.entry, FaultState::cannot_tell, Facts::Two{w.node, other});
  }

  const Wiring& wiring_;
  Graph graph_;
  Joined joined_;
  Apart apart_;
  std::vector<std::vector<Index>> components_;
  FacingStates facings_;
  std::vector<std::size_t> open_;
  std::vector<std::optional<Facts::Two>> open_tell_;
  std::vector<Index> slot_, size_;  // by node: when the walk met it; by that: all that hangs on it
  Ways ways_;
  std::vector<bool> touched_;  // by node
  std::vector<bool> seen_;
  std::vector<std::optional<Facts::Two>> tells_;
  Derived out_;
};

}  // namespace
}  // namespace faults

Derived derive(const Wiring& wiring, const Facts& facts) {
  return faults::Deriver(wiring, facts).run();
}

std::vector<std::uint32_t> held_copper(const Wiring& wiring, const Facts& facts) {
  const faults::Graph graph(wiring);
  const faults::Joined joined = faults::join_touched(wiring, graph, facts);
  const std::vector<bool> held = faults::held(wiring, graph, joined);
  std::vector<std::uint32_t> out(wiring.nodes.size(), Wiring::kNone);
  for (std::uint32_t n = 0; n < out.size(); ++n) {
    const auto& touched = joined.of_piece[wiring.nodes[n].piece];
    if (held[n] && !touched.empty()) out[n] = joined.component[touched.front()];
  }
  return out;
}

}  // namespace isthmus::expect
