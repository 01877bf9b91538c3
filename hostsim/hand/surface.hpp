// SPDX-License-Identifier: Apache-2.0
// The board as a hand meets it: places, no names.
#pragma once

#include <vector>

#include "hostsim/scenario/laying.hpp"

namespace isthmus::hostsim {

struct Place {
  Position at;
  Side side{Side::top};  // top or bottom
};

class Surface {
 public:
  virtual ~Surface() = default;
  // What a tip of this radius meets: a node of each piece of copper under it, nearest first; where
  // there is none, the metal or the rim of the hole it fell into.
  [[nodiscard]] virtual std::vector<Node> under(const Place& place, double radius_mm) const = 0;
  // Pads an eye sees from that side within this distance, nearest first.
  [[nodiscard]] virtual std::vector<Position> pads(const Place& place, double within_mm) const = 0;
  virtual BoardGraph& graph() = 0;
};

}  // namespace isthmus::hostsim
