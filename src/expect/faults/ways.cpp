// SPDX-License-Identifier: Apache-2.0
#include "expect/faults/ways.hpp"

#include <algorithm>

namespace isthmus::expect::faults {

Ways::Ways(const Wiring& wiring, const Graph& graph)
    : wiring_(wiring),
      graph_(graph),
      flow_(wiring.edges.size(), 0),
      by_(wiring.nodes.size(), kNone),
      seen_(wiring.nodes.size(), false) {
  for (const Wiring::Node& n : wiring.nodes) features_.push_back(n.feature);
}

// As many ways that share no edge as edges that together part the node (Menger 1927).
Index Ways::count(Index from, Index most, bool joins) {
  Index n = 0;
  while (n < most && push(from, joins)) ++n;
  for (const Index e : used_) flow_[e] = 0;
  used_.clear();
  return n;
}

bool Ways::push(Index from, bool joins) {
  for (const Index n : met_) seen_[n] = false;
  met_.assign({from});
  seen_[from] = true;
  for (std::size_t i = 0; i < met_.size(); ++i) {
    const Index n = met_[i];
    if (n != from && (*target_)[n]) {
      take(from, n);
      return true;
    }
    for (const auto& [edge, to] : graph_.at(n)) {
      const int along = wiring_.edges[edge].a == n ? 1 : -1;
      if (seen_[to] || flow_[edge] == along || (wiring_.edges[edge].join && !joins)) continue;
      seen_[to] = true;
      by_[to] = edge;
      met_.push_back(to);
    }
  }
  return false;
}

void Ways::take(Index from, Index at) {
  while (at != from) {
    const Wiring::Edge& e = wiring_.edges[by_[at]];
    flow_[by_[at]] += e.b == at ? 1 : -1;
    used_.push_back(by_[at]);
    at = e.b == at ? e.a : e.b;
  }
}

Index Ways::to(Index node, Index most) {
  target_ = &features_;
  return to_marked(node, most);
}

Index Ways::to_any(Index node, Index most, const std::vector<bool>& target) {
  target_ = &target;
  return to_marked(node, most);
}

Index Ways::to_marked(Index node, Index most) {
  const Index all = count(node, most, true), copper = count(node, most, false);
  return copper < all ? std::min(all, copper + 1) : all;
}

}  // namespace isthmus::expect::faults

namespace isthmus::expect {

std::uint32_t ways_to(const Wiring& wiring, std::uint32_t node, std::uint32_t most) {
  const faults::Graph graph(wiring);
  return faults::Ways(wiring, graph).to(node, most);
}

}  // namespace isthmus::expect
