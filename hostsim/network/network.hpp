// SPDX-License-Identifier: Apache-2.0
// A resistor network of many nodes, reduced to the few that are touched.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace isthmus::hostsim {

using Node = std::int32_t;
struct Edge {
  Node a{}, b{};
  double siemens{};
};

class Network {
 public:
  Network(Node nodes, const std::vector<Edge>& edges);

  [[nodiscard]] Node nodes() const { return static_cast<Node>(conductor_.size()); }
  [[nodiscard]] int conductors() const { return static_cast<int>(members_.size()); }
  [[nodiscard]] int conductor_of(Node n) const { return conductor_[static_cast<std::size_t>(n)]; }
  // Nodes of one conductor, ascending.
  [[nodiscard]] const std::vector<Node>& members(int conductor) const {
    return members_[static_cast<std::size_t>(conductor)];
  }

  // Its number within its conductor.
  [[nodiscard]] Node local(Node n) const { return local_[static_cast<std::size_t>(n)]; }
  [[nodiscard]] std::span<const Edge> edges(int conductor) const {
    const auto c = static_cast<std::size_t>(conductor);
    return std::span(edges_).subspan(edge_start_[c], edge_start_[c + 1] - edge_start_[c]);
  }

  // Nodes that will be asked for sooner or later: one reduction then serves them all.
  void expect_terminals(const std::vector<Node>& nodes);

  // Row-major T x T: the potential of terminal i, against a fixed node of the conductor, when 1 A
  // enters at terminal j and leaves at that node. R(i,j) = Z(i,i) + Z(j,j) - 2 Z(i,j). Cost: one
  // factorization of the conductor for its expected terminals, kept; another whenever a new one
  // comes.
  [[nodiscard]] std::vector<double> transfer(int conductor, const std::vector<Node>& terminals);

 private:
  struct Reduced {
    std::vector<Node> terminals;     // ascending; the first is at potential 0
    std::vector<double> potentials;  // row-major; empty until needed
  };
  void reduce(int conductor);
  void find_fill_order(std::size_t conductor);
  [[nodiscard]] std::vector<Node> elimination_order(int conductor);

  std::vector<Edge> edges_;              // grouped by conductor
  std::vector<std::size_t> edge_start_;  // per conductor
  std::vector<int> conductor_;           // per node
  std::vector<Node> local_;              // per node: its number within the conductor
  std::vector<std::vector<Node>> members_;
  std::vector<Reduced> reduced_;  // per conductor
  std::vector<std::vector<Node>>
      fill_order_;  // per conductor, of local numbers; empty until needed
};

}  // namespace isthmus::hostsim
