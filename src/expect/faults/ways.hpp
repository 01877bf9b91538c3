// SPDX-License-Identifier: Apache-2.0
// How many ways lead to a feature.
#pragma once

#include "expect/faults/graph.hpp"

namespace isthmus::expect::faults {

// Borrows both. Each question costs what its search meets.
class Ways {
 public:
  Ways(const Wiring& wiring, const Graph& graph);
  // As ways_to(): to any other feature of its piece.
  Index to(Index node, Index most);
  // To any node that `target` marks, `node` itself left out.
  Index to_any(Index node, Index most, const std::vector<bool>& target);

 private:
  Index to_marked(Index node, Index most);
  Index count(Index from, Index most, bool joins);
  bool push(Index from, bool joins);
  void take(Index from, Index at);

  const Wiring& wiring_;
  const Graph& graph_;
  std::vector<int> flow_;        // by edge, from its a to its b: -1, 0, +1
  std::vector<Index> by_, met_;  // by node: the edge it was met by; nodes met
  std::vector<bool> features_;   // by node
  const std::vector<bool>* target_{};
  std::vector<bool> seen_;   // by node
  std::vector<Index> used_;  // edges with flow
};

}  // namespace isthmus::expect::faults
