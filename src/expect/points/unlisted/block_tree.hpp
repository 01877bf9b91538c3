// SPDX-License-Identifier: Apache-2.0
// What hangs on what, on one island.
#pragma once

#include <utility>
#include <vector>

#include "isthmus/base/sets.hpp"
#include "isthmus/copper/conductors.hpp"

namespace isthmus::expect {

// The conductors of one island as a tree of blocks, parted by the branches whose loss parts the
// copper. Blocks go by the number of their first node, counted from the root outwards.
class BlockTree {
 public:
  BlockTree(const copper::ConductorGraph& graph, IslandId island, std::size_t root);

  [[nodiscard]] std::size_t size() const { return order_.size(); }
  [[nodiscard]] bool top(std::size_t k) const { return blocks_.find(k) == k; }
  [[nodiscard]] std::size_t of(std::size_t node) const {
    return blocks_.find(number_[node - first_]);
  }
  [[nodiscard]] const std::vector<std::size_t>& members(std::size_t block) const {
    return members_[block];
  }
  [[nodiscard]] std::size_t degree(std::size_t block) const { return degree_[block]; }
  // The block nearer to the root, and the branch that leads there. Not of the root's own.
  [[nodiscard]] std::size_t above(std::size_t block) const { return blocks_.find(above_[block]); }
  [[nodiscard]] std::size_t node_above(std::size_t block) const { return order_[above_[block]]; }
  [[nodiscard]] std::size_t branch_above(std::size_t block) const { return up_[block]; }

 private:
  void reach(const copper::ConductorGraph& graph, std::size_t k, std::size_t branch);
  void close(std::size_t a, std::size_t b);

  std::size_t first_;
  std::vector<std::size_t> number_;              // by node of the island
  std::vector<std::size_t> order_, above_, up_;  // by number: node, number above, branch there
  std::vector<std::pair<std::size_t, std::size_t>> closing_;
  Sets blocks_;
  std::vector<std::vector<std::size_t>> members_;
  std::vector<std::size_t> degree_;
};

}  // namespace isthmus::expect
