// SPDX-License-Identifier: Apache-2.0
#include "hostsim/random.hpp"

#include <cmath>
#include <numbers>

namespace isthmus::hostsim {

Random::Random(std::uint64_t seed, std::string_view purpose) : state_(seed) {
  std::uint64_t hash = 0xCBF29CE484222325u;  // FNV-1a
  for (const char c : purpose) {
    hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001B3u;
  }
  state_ ^= hash;
  next();
}

// SplitMix64 (Steele, Lea, Flood 2014).
std::uint64_t Random::next() {
  state_ += 0x9E3779B97F4A7C15u;
  std::uint64_t z = state_;
  z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
  z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
  return z ^ (z >> 31);
}

double Random::uniform() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }

double Random::between(double lo, double hi) { return lo + (hi - lo) * uniform(); }

// Box and Muller 1958.
double Random::normal() {
  const double u = 1.0 - uniform(), v = uniform();
  return std::sqrt(-2.0 * std::log(u)) * std::cos(2.0 * std::numbers::pi * v);
}

}  // namespace isthmus::hostsim
