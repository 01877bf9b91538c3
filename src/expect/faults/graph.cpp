// SPDX-License-Identifier: Apache-2.0
#include "expect/faults/graph.hpp"

#include <algorithm>
#include <numeric>

#include "isthmus/base/ensure.hpp"

namespace isthmus::expect {

bool Wiring::may_conduct(std::uint32_t a, std::uint32_t b) const {
  if (a == b || kin[a] == kin[b]) return true;
  return std::ranges::binary_search(tied, std::pair(std::min(a, b), std::max(a, b)));
}

}  // namespace isthmus::expect

namespace isthmus::expect::faults {

Graph::Graph(const Wiring& wiring) : first_(wiring.nodes.size() + 1, 0) {
  for (const Wiring::Edge& e : wiring.edges) {
    if (e.a != e.b) ++first_[e.a + 1], ++first_[e.b + 1];
  }
  std::partial_sum(first_.begin(), first_.end(), first_.begin());
  ends_.resize(first_.back());
  std::vector<std::size_t> next(first_.begin(), first_.end() - 1);
  for (Index i = 0; i < wiring.edges.size(); ++i) {
    const auto [a, b] = std::pair(wiring.edges[i].a, wiring.edges[i].b);
    if (a == b) continue;
    ends_[next[a]++] = {i, b};
    ends_[next[b]++] = {i, a};
  }
  pieces_.resize(wiring.kin.size());
  for (Index n = 0; n < wiring.nodes.size(); ++n) pieces_.at(wiring.nodes[n].piece).push_back(n);
}

Walk::Walk(const Graph& graph, std::size_t nodes)
    : graph_(graph),
      number_(nodes, kNone),
      low_(nodes, kNone),
      up_(nodes, kNone),
      up_edge_(nodes, kNone) {}

void Walk::run(Index root, const std::vector<bool>& use) {
  for (const Index n : order_) number_[n] = low_[n] = up_[n] = up_edge_[n] = kNone;
  order_.assign({root});
  number_[root] = low_[root] = 0;
  std::vector<std::pair<Index, std::size_t>> stack{{root, 0}};  // node, its next end
  while (!stack.empty()) {
    auto& [node, next] = stack.back();
    const auto ends = graph_.at(node);
    if (next == ends.size()) {
      const Index done = node;
      stack.pop_back();
      if (up_[done] != kNone) low_[up_[done]] = std::min(low_[up_[done]], low_[done]);
      continue;
    }
    const auto [edge, to] = ends[next++];
    if (edge == up_edge_[node] || !use[edge]) continue;
    if (met(to)) {
      low_[node] = std::min(low_[node], number_[to]);
      continue;
    }
    number_[to] = low_[to] = static_cast<Index>(order_.size());
    order_.push_back(to);
    up_[to] = node;
    up_edge_[to] = edge;
    stack.emplace_back(to, 0);
  }
}

}  // namespace isthmus::expect::faults
