// SPDX-License-Identifier: Apache-2.0
// What must hang together as in the design: pads of the netlist, rings of holes, mask openings,
// flashed pads that no list names.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "tests/audit/raster.hpp"

namespace isthmus::audit {

struct Place {
  Position at;
  std::int32_t layer{};
  std::vector<Span> spans;  // its copper within 1.25 mm: what is soldered to it spans a crack there
  Label conductor{};        // on the good board
  std::optional<std::size_t> hole;  // index into Raster::holes, for a ring
  std::string name;                 // "U1.3", "ring", "opening", "pad": for people
};

struct Places {
  std::vector<Place> all;
  std::vector<std::vector<std::uint32_t>> of_conductor;  // indices into all, by label
  std::vector<std::set<std::string>> nets;               // by label; "" for none
  std::vector<std::uint32_t> future;  // by label: what all holes and jumpers will have tied
  std::vector<std::set<std::string>> nets_of_future;   // by future
  std::set<std::pair<std::string, std::string>> tied;  // both orders

  // One net, now or once all joins are made, or tied nets.
  [[nodiscard]] bool may_conduct(Label a, Label b) const;
  // Names for people, or "no net".
  [[nodiscard]] std::string nets_in_words(Label l) const;
};

Places find_places(const formats::Design& design, const Raster& raster);

}  // namespace isthmus::audit
