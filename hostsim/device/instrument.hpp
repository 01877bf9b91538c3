// SPDX-License-Identifier: Apache-2.0
// The measuring part of the adapter: matrix, source, meter, clock. Knows nothing of messages.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "hostsim/clock.hpp"
#include "hostsim/moving.hpp"
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
  // From here on the probes are moved, in the middle of a measurement too. Borrowed.
  void follow(Moving& moving) { moving_ = &moving; }
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
  // The probes as they are at this moment.
  const Laid& laid();
  // A measurement begins: its switches stay as they are.
  void begin(bool meter_on_sense);
  const Circuit& circuit();
  // Across rows 1 and 2 while time passes: the mean over all that comes and goes meanwhile.
  double mean_force(const Drive& drive, double seconds);
  [[nodiscard]] double hum_v();
  [[nodiscard]] double drift_v() const;
  double meter_error();       // one conversion: offset, drift, hum, noise
  double integrated_error();  // over a whole mains period: without the hum
  bool own_voltage();

  AdapterDraw draw_;
  int channels_;
  Clock clock_;
  Random noise_;
  Laid laid_;
  Moving* moving_{};
  std::optional<Circuit> circuit_;  // of the measurement being made, until a probe moves
  bool meter_on_sense_{};
  std::vector<Crosspoint> commanded_;  // ascending
  int reference_{0};
  double charge_v_{0};  // left on the rows by an isolation that was not discharged
};

}  // namespace isthmus::hostsim
