// SPDX-License-Identifier: Apache-2.0
// Probes that come and go while time passes.
#pragma once

#include "hostsim/scenario/laid.hpp"

namespace isthmus::hostsim {

class Moving {
 public:
  virtual ~Moving() = default;
  // What the probes touch at this moment of the bench's clock, which never goes back; nothing where
  // that is as it was when last asked.
  virtual const Laid* moved(double seconds) = 0;
  // The next moment at which it may change, later than the last one asked about; infinity: never.
  [[nodiscard]] virtual double next_change() const = 0;
};

}  // namespace isthmus::hostsim
