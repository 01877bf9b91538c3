// SPDX-License-Identifier: Apache-2.0
// Where a named point of the design lies: REF.PIN, #2..., @side, @x,y, VIA@x,y.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "isthmus/formats/design.hpp"

namespace isthmus::hostsim {

class PointNames {
 public:
  // From the netlist file where the board has one, else from the pads' attributes in the artwork.
  explicit PointNames(const formats::Design& design);
  [[nodiscard]] std::optional<Position> find(const std::string& name) const;

 private:
  std::map<std::string, std::vector<Position>> pads_;  // by x, then y, then side
};

}  // namespace isthmus::hostsim
