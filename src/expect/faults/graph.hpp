// SPDX-License-Identifier: Apache-2.0
// The wiring's edges by node, and the sets of touched nodes that hang together.
#pragma once

#include <span>
#include <vector>

#include "isthmus/base/sets.hpp"
#include "isthmus/expect/wiring.hpp"

namespace isthmus::expect::faults {

using Index = std::uint32_t;
inline constexpr Index kNone = Wiring::kNone;

// More faults at once are not looked for: docs/proof.md.
inline constexpr Index kMostFaults = 4;

// Edges by node.
class Graph {
 public:
  struct End {
    Index edge, to;
  };
  explicit Graph(const Wiring& wiring);

  [[nodiscard]] std::span<const End> at(Index node) const {
    return {ends_.data() + first_[node], ends_.data() + first_[node + 1]};
  }
  [[nodiscard]] const std::vector<Index>& nodes_of(Index piece) const { return pieces_[piece]; }
  [[nodiscard]] std::size_t pieces() const { return pieces_.size(); }

 private:
  std::vector<End> ends_;
  std::vector<std::size_t> first_;
  std::vector<std::vector<Index>> pieces_;
};

// A depth-first walk from one node: what a lost edge or node would part from it. Used again and
// again; each run forgets the one before, at the cost of what that one met.
class Walk {
 public:
  Walk(const Graph& graph, std::size_t nodes);
  // Over the edges that `use` allows.
  void run(Index root, const std::vector<bool>& use);

  [[nodiscard]] const std::vector<Index>& order() const { return order_; }  // the root first
  [[nodiscard]] bool met(Index node) const { return number_[node] != kNone; }
  [[nodiscard]] Index up(Index node) const { return up_[node]; }  // kNone at the root
  [[nodiscard]] Index up_edge(Index node) const { return up_edge_[node]; }
  // Losing the edge upwards of `node` parts what was met through it.
  [[nodiscard]] bool cut_edge(Index node) const { return low_[node] > number_[up_[node]]; }
  // Losing the node above parts what was met through `node`.
  [[nodiscard]] bool cut_node(Index node) const { return low_[node] >= number_[up_[node]]; }

 private:
  const Graph& graph_;
  std::vector<Index> order_, number_, low_, up_, up_edge_;
};

// Touched nodes that hang together by the facts, and by copper that must have carried current.
struct Joined {
  std::vector<Index> touched;                // ascending, once each
  std::vector<std::vector<Index>> of_piece;  // touched nodes by piece
  std::vector<Index> component;              // by node; kNone where not touched
  // By node: it must hang on this component, although no probe touches it; else kNone.
  std::vector<Index> carried;
};
Joined join_touched(const Wiring& wiring, const Graph& graph, const Facts& facts);

// By node: whether it stays on a touched place of its piece whichever single edge is lost, joins
// that no reading proves left out.
std::vector<bool> held(const Wiring& wiring, const Graph& graph, const Joined& joined);

}  // namespace isthmus::expect::faults
