// SPDX-License-Identifier: Apache-2.0
// The probes on the board, for one placement: each conductor reduced to the places that are
// touched.
#pragma once

#include <vector>

namespace isthmus::hostsim {

struct Terminal {
  int conductor{-1};  // -1: no metal
  int terminal{};
  bool operator==(const Terminal&) const = default;
};

struct Tip {
  Terminal at;
  double ohm{};  // contact resistance
  // What a hand that holds it adds.
  double hum_v{0}, farad{0};
};

// Ohms between two terminals, beside the copper: a tip on two pads, fingers on two nets.
struct Tie {
  Terminal a, b;
  double ohm{};
};

struct Conductor {
  int terminals{};
  std::vector<double> transfer;  // as Network::transfer
  double farad{};                // against the rest of the board
};

// ohm at 10 V; the current grows with volts to the power `exponent`; the resistance changes by
// `drift_per_s` of itself each second.
struct Leak {
  Terminal a, b;
  double ohm{}, exponent{1}, drift_per_s{0};
};

struct Battery {
  Terminal plus, minus;
  double volts{}, ohm{1};
};

struct Laid {
  std::vector<Tip> tips;  // [channel - 1]
  std::vector<Conductor> conductors;
  std::vector<Leak> leaks;
  std::vector<Battery> batteries;
  std::vector<Tie> ties{};
};

}  // namespace isthmus::hostsim
