// SPDX-License-Identifier: Apache-2.0
// Each net's resistance as it was read, beside what its copper alone should have.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

struct NetReading {
  std::string net;
  std::vector<std::string> points;  // of its copper at this stage
  std::string from, to;             // empty: nothing was read between two of its points
  std::optional<Ohms> measured;     // nothing: over range
  Ohms uncertainty{};
  std::optional<copper::Predicted> predicted;
  std::size_t readings{};  // of resistances within it
};

// One entry a group with points, in their order by net. Of several readings the one that is
// farthest above its prediction; over range is above all.
std::vector<NetReading> net_readings(const expect::Board& board, const plan::Plan& plan,
                                     const std::vector<plan::Reading>& readings);

}  // namespace isthmus::report
