// SPDX-License-Identifier: Apache-2.0
#include "expect/faults/isolated.hpp"

#include <algorithm>
#include <map>
#include <unordered_map>

namespace isthmus::expect::faults {
namespace {

class Judge {
 public:
  Judge(const Wiring& wiring, const Graph& graph, const Joined& joined, const Apart& apart)
      : wiring_(wiring),
        graph_(graph),
        apart_(apart),
        joined_(joined),
        components_(components_of_pieces(joined)),
        loose_(wiring.nodes.size(), kNone),
        held_(held(wiring, graph, joined)) {
    // A piece that must stay whole and that nothing touches is a neighbour like any other: what is
    // joined to it is not known.
    std::vector<bool> features(graph.pieces());
    for (const Wiring::Node& n : wiring.nodes) features[n.piece] = features[n.piece] || n.feature;
    for (Index n = 0; n < held_.size(); ++n) {
      const Index piece = wiring.nodes[n].piece;
      if (joined.of_piece[piece].empty() && features[piece]) held_[n] = true;
    }
    gather_loose();
    reach_from_loose();
  }

  FacingStates run() {
    FacingStates out;
    std::unordered_map<std::uint64_t, std::size_t> first;  // facing between the same two of these
    for (std::size_t i = 0; i < wiring_.facings.size(); ++i) {
      const Wiring::Facing& f = wiring_.facings[i];
      const auto [at, fresh] = first.try_emplace(bit_of(f.a) << 32 | bit_of(f.b), i);
      out.state.push_back(fresh ? FaultState::excluded : out.state[at->second]);
      out.tells.push_back(fresh ? FacingStates::Tell{} : out.tells[at->second]);
      if (fresh) judge(f, out.state.back(), out.tells.back());
    }
    return out;
  }

 private:
  struct Reach {
    Index piece, cost;
  };

  // All that a facing's state depends on: the bit of loose copper, else the piece.
  [[nodiscard]] std::uint64_t bit_of(Index node) const {
    return loose_[node] == kNone ? wiring_.nodes[node].piece : graph_.pieces() + loose_[node];
  }

  void gather_loose() {
    for (Index start = 0; start < held_.size(); ++start) {
      if (held_[start] || loose_[start] != kNone) continue;
      const auto id = static_cast<Index>(own_.size());
      own_.push_back(kNone);
      std::vector<Index> stack{start};
      loose_[start] = id;
      while (!stack.empty()) {
        const Index n = stack.back();
        stack.pop_back();
        for (const auto& [edge, to] : graph_.at(n)) {
          if (held_[to]) {
            own_[id] = wiring_.nodes[to].piece;
          } else if (loose_[to] == kNone) {
            loose_[to] = id;
            stack.push_back(to);
          }
        }
      }
    }
    next_.resize(own_.size());
    for (const Wiring::Facing& f : wiring_.facings) {
      for (const auto& [from, to] : {std::pair(f.a, f.b), std::pair(f.b, f.a)}) {
        if (loose_[from] == kNone) continue;
        if (loose_[to] == loose_[from]) continue;
        next_[loose_[from]].push_back(to);
      }
    }
  }

  // What each loose bit of copper could be joined to, with the fewest further faults: one for each
  // gap of the chain, and one for each stub that must have broken off first.
  void reach_from_loose() {
    reach_.resize(own_.size());
    for (Index start = 0; start < own_.size(); ++start) {
      std::map<Index, Index> pieces, seen{{start, 0}};
      std::vector<Index> front{start};
      for (Index cost = 0; cost <= kMostFaults && !front.empty(); ++cost) {
        std::vector<Index> later;
        for (const Index l : front) {
          if (seen[l] != cost) {
            if (seen[l] > cost) later.push_back(l);
            continue;
          }
          if (own_[l] != kNone) pieces.try_emplace(own_[l], cost);
          const Index off = cost + (own_[l] == kNone ? 0 : 1);
          for (const Index to : next_[l]) {
            if (loose_[to] == kNone) {
              const auto [at, fresh] = pieces.try_emplace(wiring_.nodes[to].piece, off + 1);
              at->second = std::min(at->second, off + 1);
              continue;
            }
            const auto [at, fresh] = seen.try_emplace(loose_[to], off + 1);
            if (!fresh && at->second <= off + 1) continue;
            at->second = off + 1;
            later.push_back(loose_[to]);
          }
        }
        front = std::move(later);
      }
      for (const auto& [piece, cost] : pieces) reach_[start].push_back({piece, cost});
    }
  }

  // What copper at this node is joined to, at what cost in faults.
  [[nodiscard]] std::vector<Reach> sides(Index node) const {
    if (loose_[node] == kNone) return {{wiring_.nodes[node].piece, 0}};
    return reach_[loose_[node]];
  }

  void judge(const Wiring::Facing& f, FaultState& state, FacingStates::Tell& tells) const {
    const Index pa = wiring_.nodes[f.a].piece, pb = wiring_.nodes[f.b].piece;
    if (apart_.merged[pa] || apart_.merged[pb] || apart_.doubtful[pa] || apart_.doubtful[pb]) {
      state = one(pa, pb) ? FaultState::found : FaultState::cannot_tell;
      if (state == FaultState::cannot_tell) tells = tell(pa, pb);
      return;
    }
    const std::vector<Reach> as = sides(f.a), bs = sides(f.b);
    bool any = false;
    for (const Reach& a : as) {
      for (const Reach& b : bs) {
        if (a.cost + b.cost + 1 > kMostFaults || wiring_.may_conduct(a.piece, b.piece)) continue;
        any = true;
        if (isolated(a.piece, b.piece)) continue;
        state = FaultState::cannot_tell;
        tells = tell(a.piece, b.piece);
        return;
      }
    }
    if (!any) state = FaultState::harmless;
  }

  [[nodiscard]] bool isolated(Index a, Index b) const {
    const auto &as = components_[a], &bs = components_[b];
    if (as.empty() || bs.empty()) return false;
    return std::ranges::all_of(as, [&](Index x) {
      return std::ranges::all_of(bs, [&](Index y) { return apart_.known(x, y); });
    });
  }

  // Touched nodes of one piece that no reading ties come first: what is known of one of them is not
  // known of the other.
  [[nodiscard]] FacingStates::Tell tell(Index a, Index b) const {
    for (const Index p : {a, b}) {
      if (components_[p].size() > 1)
        return {p, p, touched(p, components_[p][0]), touched(p, components_[p][1])};
    }
    for (const Index x : components_[a]) {
      for (const Index y : components_[b]) {
        if (!apart_.known(x, y)) return {a, b, touched(a, x), touched(b, y)};
      }
    }
    return {a, b, components_[a].empty() ? kNone : touched(a, components_[a].front()),
            components_[b].empty() ? kNone : touched(b, components_[b].front())};
  }

  [[nodiscard]] Index touched(Index piece, Index component) const {
    for (const Index n : joined_.of_piece[piece]) {
      if (joined_.component[n] == component) return n;
    }
    return kNone;
  }

  [[nodiscard]] bool one(Index a, Index b) const {
    return std::ranges::any_of(components_[a], [&](Index x) {
      return std::ranges::find(components_[b], x) != components_[b].end();
    });
  }

  const Wiring& wiring_;
  const Graph& graph_;
  const Apart& apart_;
  const Joined& joined_;
  std::vector<std::vector<Index>> components_;  // by piece
  std::vector<Index> loose_;                    // by node: bit of loose copper; kNone where held
  std::vector<bool> held_;
  std::vector<Index> own_;                // by loose bit: the piece it hangs on; kNone
  std::vector<std::vector<Index>> next_;  // by loose bit: nodes that face it
  std::vector<std::vector<Reach>> reach_;
};

}  // namespace

FacingStates judge_facings(const Wiring& wiring, const Graph& graph, const Joined& joined,
                           const Apart& apart) {
  return Judge(wiring, graph, joined, apart).run();
}

std::vector<std::vector<Index>> components_of_pieces(const Joined& joined) {
  std::vector<std::vector<Index>> out(joined.of_piece.size());
  for (std::size_t p = 0; p < out.size(); ++p) {
    for (const Index n : joined.of_piece[p]) out[p].push_back(joined.component[n]);
    std::ranges::sort(out[p]);
    out[p].erase(std::unique(out[p].begin(), out[p].end()), out[p].end());
  }
  return out;
}

Apart hold_apart(const Wiring& wiring, const Graph& graph, const Joined& joined,
                 const Facts& facts) {
  Apart out;
  out.doubtful.resize(graph.pieces());
  out.merged.resize(graph.pieces());
  for (const Facts::Two& two : facts.two_pieces) {
    const Index a = joined.component[two.a], b = joined.component[two.b];
    if (a == kNone || b == kNone) continue;
    if (a != b) {
      out.sets.insert({std::min(a, b), std::max(a, b)});
      continue;
    }
    out.contradictions.push_back({std::min(two.a, two.b), std::max(two.a, two.b)});
    out.doubtful[wiring.nodes[two.a].piece] = out.doubtful[wiring.nodes[two.b].piece] = true;
  }
  std::ranges::sort(out.contradictions, {},
                    [](const Facts::Two& t) { return std::pair(t.a, t.b); });
  const auto same = [](const Facts::Two& x, const Facts::Two& y) {
    return x.a == y.a && x.b == y.b;
  };
  out.contradictions.erase(std::unique(out.contradictions.begin(), out.contradictions.end(), same),
                           out.contradictions.end());
  std::map<Index, std::vector<Index>> pieces_of;  // by component
  for (const Index n : joined.touched) {
    auto& pieces = pieces_of[joined.component[n]];
    if (std::ranges::find(pieces, wiring.nodes[n].piece) == pieces.end())
      pieces.push_back(wiring.nodes[n].piece);
  }
  for (const auto& [component, pieces] : pieces_of) {
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      for (std::size_t k = i + 1; k < pieces.size(); ++k) {
        if (!wiring.may_conduct(pieces[i], pieces[k]))
          out.merged[pieces[i]] = out.merged[pieces[k]] = true;
      }
    }
  }
  return out;
}

}  // namespace isthmus::expect::faults
