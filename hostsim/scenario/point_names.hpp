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
  // From where a named point can be touched; both: from either side, or not known.
  [[nodiscard]] Side side_of(const std::string& name) const;
  // The same of the pad nearest to a place.
  [[nodiscard]] Side side_at(Position place) const;
  // Pads that can be touched from that side, the nearest first.
  [[nodiscard]] std::vector<Position> pads_near(Position place, Side side, double within_mm) const;

 private:
  struct Pad {
    Position at;
    Side side{Side::both};
  };
  [[nodiscard]] const Pad* pad(const std::string& base) const;

  std::map<std::string, std::vector<Pad>> pads_;  // by x, then y, then side
  std::vector<Pad> unnamed_;                      // vias, and pads without a reference
};

}  // namespace isthmus::hostsim
