// SPDX-License-Identifier: Apache-2.0
// Whether a faulty board is a bad board: by what hangs together, never by what was done to it.
#pragma once

#include "tests/audit/faulty.hpp"
#include "tests/audit/places.hpp"

namespace isthmus::audit {

struct Harm {
  bool parted{false};             // places of one conductor no longer hang together
  bool bridged{false};            // two that must not conduct do
  std::vector<Label> conductors;  // of the good board, that are parted or bridged
  [[nodiscard]] bool any() const { return parted || bridged; }
};

// A crack within the copper of one place is no harm: what is soldered to it spans the crack.
Harm harm_of(const Faulty& faulty, const Places& places);

}  // namespace isthmus::audit
