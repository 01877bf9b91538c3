// SPDX-License-Identifier: Apache-2.0
// The measuring part of the adapter: matrix, source, meter, clock. Knows nothing of messages.
#pragma once

#include <cstdint>
#include <vector>

#include "hostsim/clock.hpp"
#include "hostsim/network/circuit.hpp"
#include "hostsim/random.hpp"
#include "hostsim/scenario/laid.hpp"
#include "hostsim/scenario/scenario.hpp"

namespace isthmus::hostsim {

inline constexpr double kOverRange = 9.9e37;
inline constexpr double kNoReading = 9.91e37;

// Bits of the status field.
enum StatusBit : int {
  kStatusOverRange = 1,
  kStatusNotSettled = 2,
  kStatusSourceLimit = 4,
  kStatusHalvesDisagree = 8,
  kStatusOwnVoltage = 16,
  kStatusNotDone = 32,
};

struct Reading {
  double value{kNoReading};
  int status{0};
};

class Instrument {
 public:
  Instrument(const AdapterDraw& draw, int channels, std::uint64_t seed, bool real_clock);

  void lay(Laid laid) { laid_ = std::move(laid); }
  // All switches open, no reference, rows discharged.
  void begin_step();
  void reset();
  void close(const std::vector<Crosspoint>& points) { command(points, true); }
  void open(const std::vector<Crosspoint>& points) { command(points, false); }
  void open_all();
  // What the drivers report, ascending. Differs from the command only where a stuck switch is
  // `seen`.
  [[nodiscard]] std::vector<Crosspoint> closed() const;
  [[nodiscard]] const std::vector<Crosspoint>& commanded() const { return commanded_; }
  [[nodiscard]] bool read_back_differs() const { return closed() != commanded_; }
  void set_reference(int k) { reference_ = k; }
  [[nodiscard]] int reference() const { return reference_; }

  double source_amps{};
  double source_volts{};

  Reading two_wire();
  Reading four_wire();
  Reading isolation(double threshold_ohm);
  Reading contact();  // REQUIRES one crosspoint commanded, in row 1 or 2
  Reading volts();

  [[nodiscard]] const AdapterDraw& draw() const { return draw_; }
  [[nodiscard]] int channels() const { return channels_; }
  [[nodiscard]] double seconds() const { return clock_.seconds(); }
  void start() { clock_.start(); }
  void wait(double seconds) { clock_.wait(seconds); }
  // Largest resistance isolation() can tell from infinity.
  [[nodiscard]] double largest_ohms() const;

 private:
  void command(const std::vector<Crosspoint>& points, bool close);
  [[nodiscard]] std::vector<Crosspoint> conducting() const;
  [[nodiscard]] Circuit circuit(bool meter_on_sense) const;
  double meter_error();       // one conversion: offset, drift, hum, noise
  double integrated_error();  // over a whole mains period: without the hum
  bool own_voltage(const Circuit& circuit);

  AdapterDraw draw_;
  int channels_;
  Clock clock_;
  Random noise_;
  Laid laid_;
  std::vector<Crosspoint> commanded_;  // ascending
  int reference_{0};
  double charge_v_{0};  // left on the rows by an isolation that was not discharged
};

}  // namespace isthmus::hostsim
