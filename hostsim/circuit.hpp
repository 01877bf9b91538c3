// SPDX-License-Identifier: Apache-2.0
// The circuit of one reading: rows, closed switches, leads, contacts and the board, solved.
#pragma once

#include <compare>
#include <optional>
#include <vector>

#include "laid.hpp"

namespace isthmus::hostsim {

struct Crosspoint {
  int row{}, channel{};
  auto operator<=>(const Crosspoint&) const = default;
};

struct MatrixDraw {
  int wires{4};
  int channels{64};
  double switch_ohm{4};
  double leak_siemens{1e-11};       // of one open switch
  std::optional<double> reference;  // ohms across the rows, sense rows tied to its ends
  bool meter_on_sense{false};       // its input resistance lies between rows 3 and 4
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

class Circuit {
 public:
  // `closed` are the switches whose contacts conduct, whatever their drivers say.
  Circuit(const Laid& laid, const std::vector<Crosspoint>& closed, const MatrixDraw& draw);
  // `seconds`: how long leaks have drifted. Exponents are followed by fixed-point steps.
  [[nodiscard]] Potentials solve(const Drive& drive, double seconds) const;
  // Capacitance between row 1 and row 2 with what hangs on them.
  [[nodiscard]] double farad() const { return farad_; }

 private:
  struct PortLeak {
    int a{}, b{};
    double ohm{}, exponent{}, drift_per_s{};
  };
  struct PortBattery {
    int plus{}, minus{};
    double volts{}, ohm{};
  };
  [[nodiscard]] std::vector<double> potentials(const Drive& drive,
                                               const std::vector<double>& leaks) const;

  int wires_{};
  int ports_{};                  // rows first, then ends of leaks and batteries
  std::vector<double> siemens_;  // ports x ports, symmetric, diagonal unused
  std::vector<PortLeak> leaks_;
  std::vector<PortBattery> batteries_;
  double farad_{};
};

}  // namespace isthmus::hostsim
