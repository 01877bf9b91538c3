// SPDX-License-Identifier: Apache-2.0
// Half solutions of a FieldGrid's system (Gilbert and Peierls, SIAM J. Sci. Stat. Comput. 9, 1988:
// a sparse right side touches only the rows that its own reach in L; for a Cholesky factor the
// reach is the way to the root of the elimination tree).
#include <algorithm>
#include <cmath>

#include "copper/field/grid.hpp"

namespace isthmus::copper {

FieldGrid::HalfSolved FieldGrid::half_solve(const std::vector<Sector>& sectors) {
  using RowMajor = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
  const auto& lower = solver_.matrixL().nestedExpression();  // without its diagonal of ones
  const int* start = lower.outerIndexPtr();
  const int* row = lower.innerIndexPtr();
  const double* value = lower.valuePtr();
  const auto& permuted = solver_.permutationP().indices();
  const Eigen::VectorXd diagonal = solver_.vectorD();  // a copy: once
  if (place_.empty()) place_.assign(static_cast<std::size_t>(matrix_.rows()), -1);
  HalfSolved half;
  for (const Sector& s : sectors) {
    for (const auto& [unknown, weight] : s.shares) {
      for (int r = permuted[unknown]; place_[static_cast<std::size_t>(r)] < 0;) {
        place_[static_cast<std::size_t>(r)] = 0;
        half.rows.push_back(static_cast<std::uint32_t>(r));
        if (start[r] == start[r + 1]) break;  // a root
        r = row[start[r]];                    // its parent in the tree
      }
    }
  }
  std::sort(half.rows.begin(), half.rows.end());
  for (std::size_t k = 0; k < half.rows.size(); ++k)
    place_[half.rows[k]] = static_cast<std::int32_t>(k);
  RowMajor x = RowMajor::Zero(static_cast<Eigen::Index>(half.rows.size()),
                              static_cast<Eigen::Index>(sectors.size()));
  for (std::size_t s = 0; s < sectors.size(); ++s) {
    for (const auto& [unknown, weight] : sectors[s].shares) {
      x(place_[static_cast<std::size_t>(permuted[unknown])], static_cast<Eigen::Index>(s)) +=
          weight;
    }
  }
  for (std::size_t k = 0; k < half.rows.size(); ++k) {
    const auto at = static_cast<Eigen::Index>(k);
    const auto column = half.rows[k];
    for (int e = start[column]; e < start[column + 1]; ++e) {
      x.row(place_[static_cast<std::size_t>(row[e])]) -= value[e] * x.row(at);
    }
    x.row(at) /= std::sqrt(diagonal[column]);
  }
  for (const std::uint32_t r : half.rows) place_[r] = -1;
  half.values = x;
  return half;
}

Eigen::MatrixXd FieldGrid::products(const HalfSolved& a, const HalfSolved& b) {
  if (&a == &b) return a.values.transpose() * a.values;
  std::vector<Eigen::Index> in_a, in_b;
  for (std::size_t i = 0, j = 0; i < a.rows.size() && j < b.rows.size();) {
    if (a.rows[i] == b.rows[j]) {
      in_a.push_back(static_cast<Eigen::Index>(i++));
      in_b.push_back(static_cast<Eigen::Index>(j++));
    } else {
      ++(a.rows[i] < b.rows[j] ? i : j);
    }
  }
  return a.values(in_a, Eigen::all).transpose() * b.values(in_b, Eigen::all);
}

Eigen::VectorXd FieldGrid::whole(const Eigen::VectorXd& half) const {
  Eigen::VectorXd v = (half.array() / solver_.vectorD().array().sqrt()).matrix();
  solver_.matrixU().solveInPlace(v);
  return solver_.permutationPinv() * v;
}

}  // namespace isthmus::copper
