// SPDX-License-Identifier: Apache-2.0
#include "tests/expect/faults/brute.hpp"

#include <algorithm>
#include <map>
#include <numeric>

namespace isthmus::test {
namespace {

using expect::Wiring;

std::uint32_t root(std::vector<std::uint32_t>& up, std::uint32_t n) {
  while (up[n] != n) n = up[n] = up[up[n]];
  return n;
}

void unite(std::vector<std::uint32_t>& up, std::uint32_t a, std::uint32_t b) {
  up[root(up, a)] = root(up, b);
}

std::vector<std::uint32_t> singles(std::size_t n) {
  std::vector<std::uint32_t> up(n);
  std::iota(up.begin(), up.end(), 0u);
  return up;
}

}  // namespace

Exhaustion::Exhaustion(const Wiring& wiring, std::vector<std::uint32_t> touched, Pairs pairs)
    : w_(wiring), touched_(std::move(touched)) {
  for (std::uint32_t n = 0; n < w_.nodes.size(); ++n) {
    const bool is_touched = std::find(touched_.begin(), touched_.end(), n) != touched_.end();
    if (w_.nodes[n].feature || is_touched) marked_.push_back(n);
  }
  list_primitives();
  list_readings(pairs);
}

void Exhaustion::list_primitives() {
  const auto known = [](std::uint32_t e) {
    return e == Wiring::kNone ? std::vector<std::uint32_t>{} : std::vector<std::uint32_t>{e};
  };
  std::map<std::uint32_t, std::size_t> join_of_entry;
  Primitive no_join{{}, SIZE_MAX, {}, "no join made"};
  for (std::size_t e = 0; e < w_.edges.size(); ++e) {
    const auto& edge = w_.edges[e];
    if (edge.join) no_join.edges.push_back(e);
    if (edge.join && edge.entry != Wiring::kNone) {
      const auto [it, fresh] = join_of_entry.try_emplace(edge.entry, primitives_.size());
      if (!fresh) {
        primitives_[it->second].edges.push_back(e);
        continue;
      }
      no_join.entries.push_back(edge.entry);
    }
    primitives_.push_back(
        {{e},
         SIZE_MAX,
         known(edge.entry),
         (edge.join ? "join " : "break ") + std::to_string(edge.a) + "-" + std::to_string(edge.b)});
  }
  for (std::size_t f = 0; f < w_.facings.size(); ++f) {
    const auto& facing = w_.facings[f];
    primitives_.push_back({{},
                           f,
                           known(facing.entry),
                           "bridge " + std::to_string(facing.a) + "~" + std::to_string(facing.b)});
  }
  if (no_join.edges.size() > 2) primitives_.push_back(no_join);
}

bool Exhaustion::may(std::uint32_t p, std::uint32_t q) const {
  if (w_.kin[p] == w_.kin[q]) return true;
  const Pair pair{std::min(p, q), std::max(p, q)};
  return std::find(w_.tied.begin(), w_.tied.end(), pair) != w_.tied.end();
}

std::vector<Exhaustion::Pair> Exhaustion::pairs_in_window() const {
  std::vector<bool> reached(w_.kin.size());
  for (const std::uint32_t n : touched_) reached[w_.nodes[n].piece] = true;
  auto through = singles(w_.kin.size());  // pieces that nothing touches, chained by facings
  for (const auto& f : w_.facings) {
    const std::uint32_t p = w_.nodes[f.a].piece, q = w_.nodes[f.b].piece;
    if (!reached[p] && !reached[q]) unite(through, p, q);
  }
  std::vector<Pair> pairs;
  std::map<std::uint32_t, std::vector<std::uint32_t>> round_chain;
  for (const auto& f : w_.facings) {
    const std::uint32_t p = w_.nodes[f.a].piece, q = w_.nodes[f.b].piece;
    if (reached[p] && reached[q]) pairs.emplace_back(std::min(p, q), std::max(p, q));
    if (reached[p] && !reached[q]) round_chain[root(through, q)].push_back(p);
    if (!reached[p] && reached[q]) round_chain[root(through, p)].push_back(q);
  }
  for (const auto& [chain, ends] : round_chain) {
    for (const auto p : ends) {
      for (const auto q : ends) pairs.emplace_back(std::min(p, q), std::max(p, q));
    }
  }
  return pairs;
}

void Exhaustion::list_readings(Pairs pairs) {
  const auto window = pairs_in_window();
  std::map<std::uint32_t, std::uint32_t> star;  // by piece: its first touched node
  for (const std::uint32_t n : touched_) {
    const auto [it, fresh] = star.try_emplace(w_.nodes[n].piece, n);
    if (!fresh && it->second != n) one_.emplace_back(it->second, n);
  }
  for (std::size_t i = 0; i < touched_.size(); ++i) {
    for (std::size_t j = i + 1; j < touched_.size(); ++j) {
      const Pair nodes{touched_[i], touched_[j]};
      const std::uint32_t p = w_.nodes[nodes.first].piece, q = w_.nodes[nodes.second].piece;
      if (p == q || w_.kin[p] == w_.kin[q]) continue;
      const Pair pieces{std::min(p, q), std::max(p, q)};
      const bool near = std::find(window.begin(), window.end(), pieces) != window.end();
      if (may(p, q)) {
        free_.push_back(nodes);
      } else if (near || pairs == Pairs::all) {
        two_.push_back(nodes);
      }
    }
  }
}

Exhaustion::Labels Exhaustion::labels(const std::vector<std::size_t>& set,
                                      bool with_bridges) const {
  std::vector<bool> lost(w_.edges.size());
  auto up = singles(w_.nodes.size());
  for (const std::size_t i : set) {
    for (const std::size_t e : primitives_[i].edges) lost[e] = true;
    const std::size_t f = primitives_[i].facing;
    if (f != SIZE_MAX && with_bridges) unite(up, w_.facings[f].a, w_.facings[f].b);
  }
  for (std::size_t e = 0; e < w_.edges.size(); ++e) {
    if (!lost[e]) unite(up, w_.edges[e].a, w_.edges[e].b);
  }
  for (std::uint32_t n = 0; n < up.size(); ++n) up[n] = root(up, n);
  return up;
}

Harm Exhaustion::harm(const Labels& drawn, const Labels& real) const {
  Harm worst = Harm::none;
  for (const std::uint32_t m : marked_) {
    for (const std::uint32_t n : marked_) {
      const auto &a = w_.nodes[m], &b = w_.nodes[n];
      if (m >= n) continue;
      if (a.piece != b.piece) {
        if (real[m] == real[n] && !may(a.piece, b.piece)) return Harm::real;
      } else if (a.feature && b.feature && drawn[m] != drawn[n]) {
        if (real[m] != real[n]) return Harm::real;
        worst = Harm::masked;
      }
    }
  }
  return worst;
}

Played Exhaustion::play(const std::vector<std::size_t>& set) const {
  const Labels real = labels(set, true);
  const auto one = [&](const Pair& p) { return real[p.first] == real[p.second]; };
  Played out;
  out.reads_good =
      std::all_of(one_.begin(), one_.end(), one) && std::none_of(two_.begin(), two_.end(), one);
  out.drawn = labels(set, false);
  out.harm = harm(out.drawn, real);
  for (const Pair& p : free_) out.free.push_back(one(p));
  return out;
}

expect::Facts Exhaustion::facts(const std::vector<std::size_t>& set) const {
  const Labels real = labels(set, true);
  expect::Facts facts;
  facts.touched = touched_;
  for (const auto* pairs : {&one_, &two_, &free_}) {
    for (const auto& [a, b] : *pairs) {
      (real[a] == real[b] ? facts.one_piece : facts.two_pieces).push_back({a, b});
    }
  }
  return facts;
}

std::string Exhaustion::name(const std::vector<std::size_t>& set) const {
  std::string out;
  for (const std::size_t i : set) out += (out.empty() ? "" : ", ") + primitives_[i].name;
  return out;
}

void each_set(std::size_t count, std::size_t most,
              const std::function<void(const std::vector<std::size_t>&)>& visit) {
  for (std::size_t size = 1; size <= std::min(most, count); ++size) {
    std::vector<std::size_t> set(size);
    std::iota(set.begin(), set.end(), std::size_t{0});
    while (true) {
      visit(set);
      std::size_t i = size;
      while (i > 0 && set[i - 1] == count - size + i - 1) --i;
      if (i == 0) break;
      ++set[i - 1];
      for (std::size_t j = i; j < size; ++j) set[j] = set[j - 1] + 1;
    }
  }
}

}  // namespace isthmus::test
