// SPDX-License-Identifier: Apache-2.0
#include "network.hpp"

#include <Eigen/SparseCholesky>
#include <numeric>
#include <utility>

#include "isthmus/base/ensure.hpp"

namespace isthmus::hostsim {
namespace {

using Sparse = Eigen::SparseMatrix<double>;

Node find_root(std::vector<Node>& parent, Node n) {
  while (parent[static_cast<std::size_t>(n)] != n) {
    Node& p = parent[static_cast<std::size_t>(n)];
    p = parent[static_cast<std::size_t>(p)];
    n = p;
  }
  return n;
}

}  // namespace

struct Network::Factors {
  Eigen::SimplicialLDLT<Sparse> ldlt;
};

Network::~Network() = default;
Network::Network(Network&&) noexcept = default;
Network& Network::operator=(Network&&) noexcept = default;

Network::Network(Node nodes, std::vector<Edge> edges)
    : conductor_(static_cast<std::size_t>(nodes), -1), local_(static_cast<std::size_t>(nodes)) {
  std::vector<Node> parent(static_cast<std::size_t>(nodes));
  std::iota(parent.begin(), parent.end(), 0);
  for (const Edge& e : edges) {
    ENSURE(e.siemens > 0 && e.a != e.b);
    const Node a = find_root(parent, e.a), b = find_root(parent, e.b);
    parent[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
  }
  for (Node n = 0; n < nodes; ++n) {
    const auto root = static_cast<std::size_t>(find_root(parent, n));
    if (conductor_[root] < 0) {  // a root is the smallest of its conductor
      conductor_[root] = static_cast<int>(members_.size());
      members_.emplace_back();
    }
    const auto at = static_cast<std::size_t>(n);
    conductor_[at] = conductor_[root];
    auto& members = members_[static_cast<std::size_t>(conductor_[at])];
    local_[at] = static_cast<Node>(members.size());
    members.push_back(n);
  }
  edge_start_.assign(members_.size() + 1, 0);
  for (const Edge& e : edges) ++edge_start_[static_cast<std::size_t>(conductor_of(e.a)) + 1];
  std::partial_sum(edge_start_.begin(), edge_start_.end(), edge_start_.begin());
  std::vector<std::size_t> next(edge_start_.begin(), edge_start_.end() - 1);
  edges_.resize(edges.size());
  for (const Edge& e : edges) edges_[next[static_cast<std::size_t>(conductor_of(e.a))]++] = e;
  factors_.resize(members_.size());
}

std::vector<double> Network::transfer(int conductor, const std::vector<Node>& terminals) {
  const auto c = static_cast<std::size_t>(conductor);
  const auto size = static_cast<Node>(members_[c].size());
  const std::size_t count = terminals.size();
  std::vector<double> z(count * count, 0.0);
  if (size < 2 || count == 0) return z;
  if (!factors_[c]) {  // the conductor's first node is grounded: left out
    std::vector<Eigen::Triplet<double>> entries;
    entries.reserve(3 * (edge_start_[c + 1] - edge_start_[c]));
    for (std::size_t k = edge_start_[c]; k < edge_start_[c + 1]; ++k) {
      const Edge& e = edges_[k];
      const Node a = local_[static_cast<std::size_t>(e.a)] - 1,
                 b = local_[static_cast<std::size_t>(e.b)] - 1;
      if (a >= 0) entries.emplace_back(a, a, e.siemens);
      if (b >= 0) entries.emplace_back(b, b, e.siemens);
      if (a >= 0 && b >= 0) entries.emplace_back(std::max(a, b), std::min(a, b), -e.siemens);
    }
    Sparse matrix(size - 1, size - 1);  // lower triangle
    matrix.setFromTriplets(entries.begin(), entries.end());
    factors_[c] = std::make_unique<Factors>();
    factors_[c]->ldlt.compute(matrix);
    ENSURE(factors_[c]->ldlt.info() == Eigen::Success);
  }
  Eigen::VectorXd rhs = Eigen::VectorXd::Zero(size - 1);
  for (std::size_t j = 0; j < count; ++j) {
    ENSURE(conductor_of(terminals[j]) == conductor);
    const Node at = local_[static_cast<std::size_t>(terminals[j])] - 1;
    if (at < 0) continue;
    rhs[at] = 1.0;
    const Eigen::VectorXd v = factors_[c]->ldlt.solve(rhs);
    rhs[at] = 0.0;
    for (std::size_t i = 0; i < count; ++i) {
      const Node seen = local_[static_cast<std::size_t>(terminals[i])] - 1;
      z[i * count + j] = seen < 0 ? 0.0 : v[seen];
    }
  }
  return z;
}

}  // namespace isthmus::hostsim
