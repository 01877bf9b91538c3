// SPDX-License-Identifier: Apache-2.0
// Numbers drawn from the scenario's seed. Own generator: the same seed gives the same board with
// every compiler and library.
#pragma once

#include <cstdint>
#include <string_view>

namespace isthmus::hostsim {

class Random {
 public:
  // A stream of its own for each purpose, so that drawing more of one changes nothing in another.
  Random(std::uint64_t seed, std::string_view purpose);
  std::uint64_t next();
  double uniform();                      // [0, 1)
  double between(double lo, double hi);  // [lo, hi)
  double normal();                       // mean 0, deviation 1
  bool chance(double p) { return p > 0 && uniform() < p; }

 private:
  std::uint64_t state_;
};

}  // namespace isthmus::hostsim
