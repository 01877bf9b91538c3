// SPDX-License-Identifier: Apache-2.0
#include "hostsim/network/solved.hpp"

#include <Eigen/Dense>
#include <Eigen/SparseCholesky>

#include "isthmus/base/ensure.hpp"

namespace isthmus::hostsim {
namespace {

using Sparse = Eigen::SparseMatrix<double>;

// The conductor's first node is at potential 0 and has no row.
Sparse grounded_matrix(const Network& network, int conductor) {
  const auto size = static_cast<Node>(network.members(conductor).size()) - 1;
  std::vector<Eigen::Triplet<double>> entries;
  for (const Edge& e : network.edges(conductor)) {
    const Node a = network.local(e.a) - 1, b = network.local(e.b) - 1;
    if (a >= 0) entries.emplace_back(a, a, e.siemens);
    if (b >= 0) entries.emplace_back(b, b, e.siemens);
    if (a >= 0 && b >= 0) entries.emplace_back(std::max(a, b), std::min(a, b), -e.siemens);
  }
  Sparse matrix(size, size);  // lower triangle
  matrix.setFromTriplets(entries.begin(), entries.end());
  return matrix;
}

}  // namespace

class Solved::Factored {
 public:
  Factored(const Network& network, int conductor)
      : network_(network), size_(static_cast<Eigen::Index>(network.members(conductor).size()) - 1) {
    if (size_ == 0) return;
    factors_.compute(grounded_matrix(network, conductor));
    ENSURE(factors_.info() == Eigen::Success);
  }

  [[nodiscard]] double ohm(std::size_t i, std::size_t j) const {
    return i < j ? ohms_[j][i] : ohms_[i][j];
  }

  // Its place among the terminals known so far.
  std::size_t number(Node terminal) {
    const auto [known, fresh] = numbers_.try_emplace(terminal, ohms_.size());
    if (fresh) ohms_.push_back(row_of(terminal));
    return known->second;
  }

 private:
  // Potentials of all known terminals, and its own, when 1 A enters there.
  std::vector<double> row_of(Node terminal) {
    std::vector<double> row(ohms_.size() + 1, 0.0);
    const Eigen::Index at = network_.local(terminal) - 1;
    if (at < 0) return row;
    const Eigen::VectorXd volts = factors_.solve(Eigen::VectorXd::Unit(size_, at));
    for (const auto& [node, number] : numbers_) {
      const Eigen::Index other = network_.local(node) - 1;
      row[number] = other < 0 ? 0.0 : volts[other];
    }
    return row;
  }

  const Network& network_;
  Eigen::Index size_;
  Eigen::SimplicialLDLT<Sparse, Eigen::Lower> factors_;
  std::map<Node, std::size_t> numbers_;
  std::vector<std::vector<double>> ohms_;  // lower triangle, in order of numbers
};

Solved::Solved(const Network& network) : network_(network) {}
Solved::~Solved() = default;

std::vector<double> Solved::transfer(int conductor, const std::vector<Node>& terminals) {
  std::unique_ptr<Factored>& factored = factored_[conductor];
  if (!factored) factored = std::make_unique<Factored>(network_, conductor);
  std::vector<std::size_t> numbers;
  for (const Node t : terminals) {
    ENSURE(network_.conductor_of(t) == conductor);
    numbers.push_back(factored->number(t));
  }
  std::vector<double> z;
  for (const std::size_t a : numbers) {
    for (const std::size_t b : numbers) z.push_back(factored->ohm(a, b));
  }
  return z;
}

}  // namespace isthmus::hostsim
