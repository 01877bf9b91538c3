// SPDX-License-Identifier: Apache-2.0
// The seam between the adapter and what lies under its probes.
#pragma once

#include <string>
#include <vector>

#include "hostsim/hand/surface.hpp"
#include "hostsim/scenario/laid.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

class Bench {
 public:
  virtual ~Bench() = default;
  // What the probes touch before any placement was asked for.
  virtual Laid at_rest() = 0;
  // All probes off the board, the board as it is.
  virtual Laid lifted() = 0;
  // Lays the probes as the fixture's placement of that name says.
  virtual Result<Laid> lay(const std::string& placement) = 0;
  // SHA-256 of each artwork file of the board; empty for a network.
  [[nodiscard]] virtual std::vector<std::string> hashes() const = 0;
  // What hands can touch; null: there is nothing to hold a needle against.
  virtual Surface* surface() { return nullptr; }
};

}  // namespace isthmus::hostsim
