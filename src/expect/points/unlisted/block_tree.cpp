// SPDX-License-Identifier: Apache-2.0
#include "expect/points/unlisted/block_tree.hpp"

namespace isthmus::expect {

BlockTree::BlockTree(const copper::ConductorGraph& graph, IslandId island, std::size_t root)
    : first_(graph.of_island[index(island)].first),
      number_(graph.of_island[index(island)].second - first_, SIZE_MAX),
      blocks_(number_.size()) {
  number_[root - first_] = 0;
  order_.push_back(root);
  above_.push_back(0);
  up_.push_back(SIZE_MAX);
  for (std::size_t k = 0; k < order_.size(); ++k) {
    for (const std::size_t b : graph.at_node[order_[k]]) reach(graph, k, b);
  }
  for (const auto& [a, b] : closing_) close(a, b);
  members_.resize(order_.size());
  degree_.assign(order_.size(), 0);
  for (std::size_t k = 0; k < order_.size(); ++k) {
    members_[blocks_.find(k)].push_back(order_[k]);
    if (k > 0 && top(k)) ++degree_[k], ++degree_[blocks_.find(above_[k])];
  }
}

void BlockTree::reach(const copper::ConductorGraph& graph, std::size_t k, std::size_t branch) {
  if (branch == up_[k]) return;
  const copper::Branch& b = graph.branches[branch];
  const std::size_t to = b.a == order_[k] ? b.b : b.a;
  std::size_t& number = number_[to - first_];
  if (number != SIZE_MAX) {
    closing_.emplace_back(k, number);
    return;
  }
  number = order_.size();
  order_.push_back(to);
  above_.push_back(k);
  up_.push_back(branch);
}

// A branch that closes a ring: all on the ring is one block. The lower number is nearer the root.
void BlockTree::close(std::size_t a, std::size_t b) {
  a = blocks_.find(a), b = blocks_.find(b);
  while (a != b) {
    if (a < b) std::swap(a, b);
    blocks_.unite(a, above_[a]);
    a = blocks_.find(a);
  }
}

}  // namespace isthmus::expect
