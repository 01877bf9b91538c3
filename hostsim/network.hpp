// SPDX-License-Identifier: Apache-2.0
// A resistor network of many nodes, reduced to the few that are touched.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

namespace isthmus::hostsim {

using Node = std::int32_t;
struct Edge {
  Node a{}, b{};
  double siemens{};
};

class Network {
 public:
  Network(Node nodes, std::vector<Edge> edges);
  ~Network();
  Network(Network&&) noexcept;
  Network& operator=(Network&&) noexcept;

  [[nodiscard]] Node nodes() const { return static_cast<Node>(conductor_.size()); }
  [[nodiscard]] int conductors() const { return static_cast<int>(members_.size()); }
  [[nodiscard]] int conductor_of(Node n) const { return conductor_[static_cast<std::size_t>(n)]; }
  // Nodes of one conductor, ascending.
  [[nodiscard]] const std::vector<Node>& members(int conductor) const {
    return members_[static_cast<std::size_t>(conductor)];
  }

  // Row-major T x T: the potential of terminal i, against a fixed node of the conductor, when 1 A
  // enters at terminal j and leaves at that node. R(i,j) = Z(i,i) + Z(j,j) - 2 Z(i,j). Cost: the
  // conductor's matrix is factorized at its first use and kept.
  [[nodiscard]] std::vector<double> transfer(int conductor, const std::vector<Node>& terminals);

 private:
  struct Factors;
  std::vector<Edge> edges_;              // grouped by conductor
  std::vector<std::size_t> edge_start_;  // per conductor
  std::vector<int> conductor_;           // per node
  std::vector<Node> local_;              // per node: its number within the conductor
  std::vector<std::vector<Node>> members_;
  std::vector<std::unique_ptr<Factors>> factors_;
};

}  // namespace isthmus::hostsim
