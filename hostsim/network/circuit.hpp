// SPDX-License-Identifier: Apache-2.0
// The circuit of one reading: rows, closed switches, leads, contacts and the board, solved.
#pragma once

#include <compare>
#include <optional>
#include <vector>

#include "hostsim/scenario/laid.hpp"

namespace isthmus::hostsim {

struct Crosspoint {
  int row{}, channel{};
  auto operator<=>(const Crosspoint&) const = default;
};

// Ohms between two leads, beside what their tips touch.
struct LeadsTouch {
  int a{}, b{};
  double ohm{};
};

struct MatrixDraw {
  int wires{4};
  int channels{64};
  double switch_ohm{4};
  double leak_siemens{1e-11};       // of one open switch
  std::optional<double> reference;  // ohms across the rows, sense rows tied to its ends
  std::vector<LeadsTouch> touching{};
  bool meter_on_sense{false};  // its input resistance lies between rows 3 and 4
};

// A source from row 2 into row 1: current `amps` beside `siemens` of its own.
struct Drive {
  double amps{};
  double siemens{};
};

struct Potentials {
  double force{};  // row 1 against row 2
  double sense{};  // row 3 against row 4
};

// What is left when all nodes but the ports are taken out: rows first, then ends of leaks and
// batteries.
struct Ports {
  struct Leak {
    int a{}, b{};
    double ohm{}, exponent{1}, drift_per_s{0};
  };
  struct Battery {
    int plus{}, minus{};
    double volts{}, ohm{1};
  };
  int count{};
  std::vector<double> siemens;  // count x count, symmetric; the diagonal is not used
  std::vector<Leak> leaks;
  std::vector<Battery> batteries;
  double farad{};
};

class Circuit {
 public:
  // `closed` are the switches whose contacts conduct, whatever their drivers say.
  Circuit(const Laid& laid, const std::vector<Crosspoint>& closed, const MatrixDraw& draw);
  // `seconds`: how long leaks have drifted. Exponents are followed by fixed-point steps.
  [[nodiscard]] Potentials solve(const Drive& drive, double seconds) const;
  // Capacitance between row 1 and row 2 with what hangs on them.
  [[nodiscard]] double farad() const { return ports_.farad; }

 private:
  [[nodiscard]] std::vector<double> potentials(const Drive& drive,
                                               const std::vector<double>& leaks) const;

  int wires_{};
  Ports ports_;
};

}  // namespace isthmus::hostsim
