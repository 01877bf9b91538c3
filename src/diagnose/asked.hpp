// SPDX-License-Identifier: Apache-2.0
// Which steps a plan has, the wanted ones included, so that none is asked for without end.
#pragma once

#include <map>
#include <tuple>
#include <vector>

#include "isthmus/plan/plan.hpp"

namespace isthmus::diagnose {

class Asked {
 public:
  explicit Asked(const plan::Plan& plan);
  void grow(std::size_t placements) { in_placement_.resize(placements); }
  // The next step of the plan.
  void add(const plan::Step& step);
  // So often, wherever in the plan; the same channels for the same kind of reading.
  [[nodiscard]] std::size_t times(const plan::Step& like) const;
  // Indices into Plan::steps, ascending.
  [[nodiscard]] const std::vector<std::size_t>& in_placement(std::size_t placement) const {
    return in_placement_[placement];
  }
  [[nodiscard]] std::size_t last_block() const { return last_block_; }
  // The adapter's references that the plan uses: number and nominal ohms, in order of first use.
  [[nodiscard]] const std::vector<std::pair<int, Ohms>>& references() const { return references_; }

 private:
  using Key = std::tuple<std::size_t, plan::StepKind, std::vector<plan::Channel>,
                         std::vector<plan::Channel>, plan::Channel, plan::Channel>;
  static Key key_of(const plan::Step& step);

  std::map<Key, std::size_t> times_;
  std::vector<std::vector<std::size_t>> in_placement_;
  std::size_t steps_{}, last_block_{};
  std::vector<std::pair<int, Ohms>> references_;
};

}  // namespace isthmus::diagnose
