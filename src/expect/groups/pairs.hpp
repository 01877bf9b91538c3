// SPDX-License-Identifier: Apache-2.0
// Which groups must be isolated from each other and come close.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "expect/groups/groups.hpp"

namespace isthmus::expect {

// Net ties by name: nets of one tie may share copper and are not tested against each other.
class Ties {
 public:
  explicit Ties(const std::vector<std::vector<std::string>>& ties);
  [[nodiscard]] bool tied(const std::string& a, const std::string& b) const;

 private:
  std::set<std::pair<std::string, std::string>> pairs_;
};

struct Pairs {
  std::vector<Pair> near;  // ascending by a, b
  std::size_t beyond{};
};
Pairs find_pairs(const Ground& ground, const Pieces& pieces, const Grouping& grouping,
                 const Ties& ties);

}  // namespace isthmus::expect
