// SPDX-License-Identifier: Apache-2.0
#include "tests/expect/faults/sketch.hpp"

#include <algorithm>
#include <numeric>

#include "isthmus/base/ensure.hpp"

namespace isthmus::test {
namespace {

using expect::Wiring;

constexpr std::uint32_t kMostWays = 4;  // sets of up to 4 faults are tried

// Node -> smallest node it hangs together with by the edges that are left.
std::vector<std::uint32_t> hang_together(const Wiring& w, const std::vector<bool>& lost) {
  std::vector<std::uint32_t> label(w.nodes.size());
  std::iota(label.begin(), label.end(), 0u);
  for (bool again = true; again;) {
    again = false;
    for (std::size_t e = 0; e < w.edges.size(); ++e) {
      if (lost[e]) continue;
      std::uint32_t &a = label[w.edges[e].a], &b = label[w.edges[e].b];
      if (a == b) continue;
      a = b = std::min(a, b);
      again = true;
    }
  }
  return label;
}

std::vector<std::uint32_t> other_features(const Wiring& w, std::uint32_t node) {
  std::vector<std::uint32_t> others;
  for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
    if (n != node && w.nodes[n].feature && w.nodes[n].piece == w.nodes[node].piece) {
      others.push_back(n);
    }
  }
  return others;
}

// By edge: both ends hang together even without it.
bool on_a_ring(const Wiring& w, std::size_t edge) {
  std::vector<bool> lost(w.edges.size());
  lost[edge] = true;
  const auto label = hang_together(w, lost);
  return label[w.edges[edge].a] == label[w.edges[edge].b];
}

}  // namespace

std::vector<bool> dead_nodes(const Wiring& w) {
  std::vector<bool> dead(w.nodes.size());
  for (std::uint32_t n = 0; n < dead.size(); ++n) {
    dead[n] = other_features(w, n).size() + (w.nodes[n].feature ? 1 : 0) < 2;
  }
  for (std::size_t e = 0; e < w.edges.size(); ++e) {
    if (on_a_ring(w, e)) continue;
    std::vector<bool> lost(w.edges.size());
    lost[e] = true;
    const auto label = hang_together(w, lost);
    for (const std::uint32_t end : {label[w.edges[e].a], label[w.edges[e].b]}) {
      bool feature = false;
      for (std::uint32_t n = 0; n < dead.size(); ++n) {
        feature = feature || (label[n] == end && w.nodes[n].feature);
      }
      for (std::uint32_t n = 0; n < dead.size() && !feature; ++n) {
        if (label[n] == end) dead[n] = true;
      }
    }
  }
  return dead;
}

bool parts_from(const Wiring& w, const std::vector<bool>& lost, std::uint32_t node, bool all) {
  const auto label = hang_together(w, lost);
  const auto others = other_features(w, node);
  const auto parted = [&](std::uint32_t o) { return label[o] != label[node]; };
  if (others.empty()) return false;
  return all ? std::all_of(others.begin(), others.end(), parted)
             : std::any_of(others.begin(), others.end(), parted);
}

std::uint32_t fewest_ways_to(const Wiring& w, std::uint32_t node) {
  std::vector<std::uint32_t> free;  // nodes that may lie on either side of the cut
  for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
    if (w.nodes[n].piece == w.nodes[node].piece && !w.nodes[n].feature) free.push_back(n);
  }
  if (other_features(w, node).empty()) return Wiring::kNone;
  std::uint32_t fewest = Wiring::kNone;
  for (std::uint64_t mask = 0; mask < std::uint64_t{1} << free.size(); ++mask) {
    std::vector<bool> inside(w.nodes.size());
    inside[node] = true;
    for (std::size_t i = 0; i < free.size(); ++i) inside[free[i]] = (mask >> i & 1) != 0;
    std::uint32_t edges = 0, joins = 0;
    for (const auto& e : w.edges) {
      if (inside[e.a] == inside[e.b]) continue;
      (e.join ? joins : edges) += 1;
    }
    fewest = std::min(fewest, edges + std::min(joins, 1u));
  }
  return fewest;
}

Sketch::Piece Sketch::piece() {
  const auto p = static_cast<Piece>(w_.kin.size());
  w_.kin.push_back(p);
  return p;
}

Sketch::Node Sketch::node(Piece p, bool feature) {
  w_.nodes.push_back({p, feature});
  return static_cast<Node>(w_.nodes.size() - 1);
}

Sketch& Sketch::stretch(const std::vector<Node>& in_series) {
  for (std::size_t i = 1; i < in_series.size(); ++i) {
    w_.edges.push_back({in_series[i - 1], in_series[i], Wiring::kNone, false});
    run_of_edge_.push_back(runs_);
  }
  ++runs_;
  return *this;
}

Sketch& Sketch::join(Node a, Node b) {
  const Node metal = spot(w_.nodes[a].piece);
  w_.nodes[metal].place = false;
  for (const Node foot : {a, b}) {
    w_.edges.push_back({foot, metal, Wiring::kNone, true});
    run_of_edge_.push_back(runs_);
  }
  ++runs_;
  return *this;
}

Sketch& Sketch::faces(const std::vector<std::pair<Node, Node>>& one_entry) {
  for (const auto& [a, b] : one_entry) {
    w_.facings.push_back({a, b, Wiring::kNone});
    run_of_facing_.push_back(runs_);
  }
  ++runs_;
  return *this;
}

Sketch& Sketch::tied(Piece a, Piece b) {
  w_.tied.emplace_back(std::min(a, b), std::max(a, b));
  std::sort(w_.tied.begin(), w_.tied.end());
  return *this;
}

Sketch& Sketch::one_net(Piece a, Piece b) {
  w_.kin[std::max(a, b)] = w_.kin[std::min(a, b)];
  return *this;
}

void Sketch::number_breaks(Wiring& w) const {
  const std::vector<bool> dead = dead_nodes(w);
  std::vector<std::uint32_t> entry_of_run(runs_, Wiring::kNone);
  for (std::size_t e = 0; e < w.edges.size(); ++e) {
    if (dead[w.edges[e].a] || dead[w.edges[e].b]) continue;
    std::uint32_t& entry = entry_of_run[run_of_edge_[e]];
    if (entry == Wiring::kNone) entry = w.entries++;
    w.edges[e].entry = entry;
  }
}

void Sketch::number_ways(Wiring& w) const {
  std::vector<bool> parallel(w.nodes.size());
  for (std::size_t e = 0; e < w.edges.size(); ++e) {
    if (on_a_ring(w, e)) parallel[w.edges[e].a] = parallel[w.edges[e].b] = true;
  }
  for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
    if (!w.nodes[n].feature || !parallel[n]) continue;
    if (fewest_ways_to(w, n) <= kMostWays) w.ways.push_back({n, w.entries++});
  }
}

void Sketch::number_bridges(Wiring& w) const {
  const auto tied = [&](std::uint32_t p, std::uint32_t q) {
    const auto pair = std::make_pair(std::min(p, q), std::max(p, q));
    return std::find(w.tied.begin(), w.tied.end(), pair) != w.tied.end();
  };
  std::vector<std::uint32_t> entry_of_run(runs_, Wiring::kNone);
  for (std::size_t f = 0; f < w.facings.size(); ++f) {
    const std::uint32_t p = w.nodes[w.facings[f].a].piece, q = w.nodes[w.facings[f].b].piece;
    if (w.kin[p] == w.kin[q] || tied(p, q)) continue;
    std::uint32_t& entry = entry_of_run[run_of_facing_[f]];
    if (entry == Wiring::kNone) entry = w.entries++;
    w.facings[f].entry = entry;
  }
}

Wiring Sketch::wiring() const {
  Wiring w = w_;
  number_breaks(w);
  number_ways(w);
  number_bridges(w);
  return w;
}

std::string text(const Wiring& w, const std::vector<std::uint32_t>& touched) {
  const auto entry = [](std::uint32_t e) {
    return e == Wiring::kNone ? std::string("(-)") : "(" + std::to_string(e) + ")";
  };
  std::string out;
  for (std::uint32_t p = 0; p < w.kin.size(); ++p) {
    out += "  piece " + std::to_string(p);
    if (w.kin[p] != p) out += " of the net of " + std::to_string(w.kin[p]);
    out += ":";
    for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
      if (w.nodes[n].piece != p) continue;
      out += " " + std::to_string(n) + (w.nodes[n].feature ? "*" : "");
      if (std::find(touched.begin(), touched.end(), n) != touched.end()) out += "^";
    }
    out += "\n";
  }
  out += "  (* feature, ^ touched, (n) entry)\n  edges:";
  for (const auto& e : w.edges) {
    out += " " + std::to_string(e.a) + (e.join ? "=" : "-") + std::to_string(e.b) + entry(e.entry);
  }
  out += "\n  facings:";
  for (const auto& f : w.facings) {
    out += " " + std::to_string(f.a) + "~" + std::to_string(f.b) + entry(f.entry);
  }
  out += "\n  ways:";
  for (const auto& n : w.ways) out += " " + std::to_string(n.node) + entry(n.entry);
  out += "\n  tied:";
  for (const auto& [a, b] : w.tied) out += " " + std::to_string(a) + "&" + std::to_string(b);
  return out + "\n";
}

}  // namespace isthmus::test
