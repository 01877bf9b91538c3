// SPDX-License-Identifier: Apache-2.0
#include "hostsim/network/network.hpp"

#include <Eigen/Dense>
#include <Eigen/OrderingMethods>
#include <Eigen/SparseCholesky>
#include <algorithm>
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

Network::Network(Node nodes, const std::vector<Edge>& edges)
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
  reduced_.resize(members_.size());
}

void Network::expect_terminals(const std::vector<Node>& nodes) {
  for (const Node n : nodes) {
    Reduced& r = reduced_[static_cast<std::size_t>(conductor_of(n))];
    const auto at = std::lower_bound(r.terminals.begin(), r.terminals.end(), n);
    if (at != r.terminals.end() && *at == n) continue;
    r.terminals.insert(at, n);
    r.potentials.clear();
  }
}

// Terminals are ordered last and the first of them grounded: what is left of the factors then is
// the conductor reduced to its terminals (Schur complement), without a solve for each.
void Network::reduce(int conductor) {
  const auto c = static_cast<std::size_t>(conductor);
  const std::vector<Node>& terminals = reduced_[c].terminals;
  const auto count = static_cast<Eigen::Index>(terminals.size());
  reduced_[c].potentials.assign(terminals.size() * terminals.size(), 0.0);
  if (count < 2) return;
  const auto local = [this](Node n) { return local_[static_cast<std::size_t>(n)]; };
  const std::vector<Node> order = elimination_order(conductor);
  std::vector<Node> place(members_[c].size());
  for (std::size_t i = 0; i < order.size(); ++i)
    place[static_cast<std::size_t>(order[i])] = static_cast<Node>(i);
  const auto size = static_cast<Node>(order.size()) - 1;  // the ground is the last of the order
  std::vector<Eigen::Triplet<double>> entries;
  for (std::size_t k = edge_start_[c]; k < edge_start_[c + 1]; ++k) {
    const Node a = place[static_cast<std::size_t>(local(edges_[k].a))];
    const Node b = place[static_cast<std::size_t>(local(edges_[k].b))];
    if (a < size) entries.emplace_back(a, a, edges_[k].siemens);
    if (b < size) entries.emplace_back(b, b, edges_[k].siemens);
    if (a < size && b < size)
      entries.emplace_back(std::max(a, b), std::min(a, b), -edges_[k].siemens);
  }
  Sparse matrix(size, size);  // lower triangle
  matrix.setFromTriplets(entries.begin(), entries.end());
  const Eigen::SimplicialLDLT<Sparse, Eigen::Lower, Eigen::NaturalOrdering<int>> factors(matrix);
  ENSURE(factors.info() == Eigen::Success);

  const Eigen::Index first = size - (count - 1);
  Eigen::MatrixXd lower = Eigen::MatrixXd::Identity(count - 1, count - 1);
  const Sparse& l = factors.matrixL().nestedExpression();
  for (Eigen::Index column = first; column < size; ++column) {
    for (Sparse::InnerIterator it(l, column); it; ++it) {
      if (it.row() > column) lower(it.row() - first, column - first) = it.value();
    }
  }
  const Eigen::MatrixXd siemens =
      lower * factors.vectorD().tail(count - 1).asDiagonal() * lower.transpose();
  const Eigen::MatrixXd ohms = siemens.llt().solve(Eigen::MatrixXd::Identity(count - 1, count - 1));
  for (Eigen::Index i = 1; i < count; ++i) {
    for (Eigen::Index j = 1; j < count; ++j) {
      reduced_[c].potentials[static_cast<std::size_t>(i * count + j)] = ohms(i - 1, j - 1);
    }
  }
}

// Depends on the edges alone, not on the terminals: found once.
void Network::find_fill_order(std::size_t c) {
  fill_order_.resize(members_.size());
  if (!fill_order_[c].empty()) return;
  const auto size = static_cast<Node>(members_[c].size());
  std::vector<Eigen::Triplet<double>> pattern;
  for (std::size_t k = edge_start_[c]; k < edge_start_[c + 1]; ++k) {
    const Node a = local_[static_cast<std::size_t>(edges_[k].a)],
               b = local_[static_cast<std::size_t>(edges_[k].b)];
    pattern.emplace_back(a, b, 1.0);
    pattern.emplace_back(b, a, 1.0);
  }
  for (Node n = 0; n < size; ++n) pattern.emplace_back(n, n, 1.0);
  Sparse matrix(size, size);
  matrix.setFromTriplets(pattern.begin(), pattern.end());
  Eigen::PermutationMatrix<Eigen::Dynamic, Eigen::Dynamic, int> permutation;
  Eigen::AMDOrdering<int>()(matrix, permutation);
  fill_order_[c].assign(permutation.indices().begin(), permutation.indices().end());
}

// Local numbers: fill-reducing, then the terminals after the first, ascending, then the first.
std::vector<Node> Network::elimination_order(int conductor) {
  const auto c = static_cast<std::size_t>(conductor);
  const auto size = static_cast<Node>(members_[c].size());
  find_fill_order(c);
  std::vector<char> is_terminal(static_cast<std::size_t>(size), 0);
  const std::vector<Node>& terminals = reduced_[c].terminals;
  for (const Node t : terminals)
    is_terminal[static_cast<std::size_t>(local_[static_cast<std::size_t>(t)])] = 1;
  std::vector<Node> order;
  for (const Node n : fill_order_[c]) {
    if (is_terminal[static_cast<std::size_t>(n)] == 0) order.push_back(n);
  }
  for (std::size_t t = 1; t < terminals.size(); ++t) {
    order.push_back(local_[static_cast<std::size_t>(terminals[t])]);
  }
  order.push_back(local_[static_cast<std::size_t>(terminals[0])]);
  return order;
}

std::vector<double> Network::transfer(int conductor, const std::vector<Node>& terminals) {
  for (const Node t : terminals) ENSURE(conductor_of(t) == conductor);
  expect_terminals(terminals);
  const Reduced& r = reduced_[static_cast<std::size_t>(conductor)];
  if (r.potentials.empty()) reduce(conductor);
  std::vector<double> z;
  for (const Node a : terminals) {
    for (const Node b : terminals) {
      const auto i =
          std::lower_bound(r.terminals.begin(), r.terminals.end(), a) - r.terminals.begin();
      const auto j =
          std::lower_bound(r.terminals.begin(), r.terminals.end(), b) - r.terminals.begin();
      z.push_back(r.potentials[static_cast<std::size_t>(i) * r.terminals.size() +
                               static_cast<std::size_t>(j)]);
    }
  }
  return z;
}

}  // namespace isthmus::hostsim
