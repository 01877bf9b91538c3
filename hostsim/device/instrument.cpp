// SPDX-License-Identifier: Apache-2.0
#include "hostsim/device/instrument.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "isthmus/base/ensure.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kDefaultVolts = 5.0;
constexpr double kMainsHertz = 50.0;
constexpr double kMostDrift = 3e-4;   // V to either side: half an evening must not spoil readings
constexpr double kOwnVolts = 5e-3;    // more than this with the source off is the board's own
constexpr double kMaxRangeOhm = 1e6;  // the current meter's largest range resistor
constexpr double kMaxSettleSeconds = 0.2;
constexpr double kSettled = 1e-5;  // residue at which a charging current counts as settled

}  // namespace

Instrument::Instrument(const AdapterDraw& draw, int channels, std::uint64_t seed, bool real_clock)
    : draw_(draw), channels_(channels), clock_(real_clock), noise_(seed, "noise") {
  laid_.tips.resize(static_cast<std::size_t>(channels));
  reset();
}

void Instrument::begin_step() {
  open_all();
  reference_ = 0;
  clock_.wait(draw_.settle_s);
}

void Instrument::reset() {
  open_all();
  reference_ = 0;
  source_amps = draw_.source_a;
  source_volts = std::min(kDefaultVolts, draw_.source_v);
}

void Instrument::open_all() { commanded_.clear(); }

void Instrument::command(const std::vector<Crosspoint>& points, bool close) {
  for (const Crosspoint& p : points) {
    const auto at = std::lower_bound(commanded_.begin(), commanded_.end(), p);
    const bool there = at != commanded_.end() && *at == p;
    if (close && !there) commanded_.insert(at, p);
    if (!close && there) commanded_.erase(at);
  }
}

std::vector<Crosspoint> Instrument::closed() const {
  std::vector<Crosspoint> seen = commanded_;
  for (const StuckSwitch& s : draw_.stuck) {
    if (!s.seen) continue;
    std::erase(seen, Crosspoint{s.row, s.channel});
    if (s.closed) seen.push_back({s.row, s.channel});
  }
  std::sort(seen.begin(), seen.end());
  return seen;
}

std::vector<Crosspoint> Instrument::conducting() const {
  std::vector<Crosspoint> real = commanded_;
  for (const StuckSwitch& s : draw_.stuck) {
    std::erase(real, Crosspoint{s.row, s.channel});
    if (s.closed) real.push_back({s.row, s.channel});
  }
  std::sort(real.begin(), real.end());
  return real;
}

const Laid& Instrument::laid() {
  const Laid* moved = moving_ ? moving_->moved(clock_.seconds()) : nullptr;
  if (moved) {
    laid_ = *moved;
    circuit_.reset();
  }
  return laid_;
}

void Instrument::begin(bool meter_on_sense) {
  meter_on_sense_ = meter_on_sense;
  circuit_.reset();
}

const Circuit& Instrument::circuit() {
  const Laid& now = laid();
  if (circuit_) return *circuit_;
  MatrixDraw m;
  m.wires = draw_.wires;
  m.channels = channels_;
  m.switch_ohm = draw_.switch_ohm;
  m.leak_siemens = draw_.switch_leak_a / draw_.source_v;
  for (const TouchingWires& t : draw_.touching) m.touching.push_back({t.a, t.b, t.ohm});
  m.meter_on_sense = meter_on_sense_;
  if (reference_ > 0) m.reference = draw_.references[static_cast<std::size_t>(reference_ - 1)];
  return circuit_.emplace(now, conducting(), m);
}

double Instrument::mean_force(const Drive& drive, double seconds) {
  constexpr double kLeastStep = 1e-6;
  double sum = 0, left = seconds;
  while (left > 0) {
    const double volts = circuit().solve(drive, clock_.seconds()).force;
    const double next = moving_ ? moving_->next_change() - clock_.seconds() : left;
    const double step = std::min(left, std::max(next, kLeastStep));
    clock_.wait(step);
    sum += volts * step;
    left -= step;
  }
  return sum / seconds;
}

// The mains on the rows: the adapter's own, and what hands bring to the needles they hold.
double Instrument::hum_v() {
  double hum = draw_.hum_v;
  for (const Crosspoint& p : conducting())
    hum = std::max(hum, laid().tips[static_cast<std::size_t>(p.channel - 1)].hum_v);
  return hum;
}

// Up and down again, at that pace: it never leaves what the temperature of a room can do.
double Instrument::drift_v() const {
  if (draw_.drift_v_per_s == 0) return 0;
  const double way = std::abs(draw_.drift_v_per_s) * clock_.seconds();
  const double in_turn = std::fmod(way + kMostDrift, 4 * kMostDrift);  // from the lowest on
  const double rising = kMostDrift - std::abs(in_turn - 2 * kMostDrift);
  return draw_.drift_v_per_s > 0 ? rising : -rising;
}

double Instrument::meter_error() {
  clock_.wait(draw_.convert_s);
  const double t = clock_.seconds();
  return draw_.offset_v + drift_v() + hum_v() * std::sin(2 * std::numbers::pi * kMainsHertz * t) +
         draw_.noise_v * noise_.normal();
}

double Instrument::integrated_error() {
  return draw_.offset_v + drift_v() + draw_.noise_v * noise_.normal();
}

bool Instrument::own_voltage() {
  const double volts =
      circuit().solve({}, clock_.seconds()).force + meter_error() + std::exchange(charge_v_, 0.0);
  return std::abs(volts - draw_.offset_v) > kOwnVolts;
}

Reading Instrument::two_wire() {
  begin(false);
  clock_.wait(draw_.settle_s);
  Reading r;
  if (own_voltage()) r.status |= kStatusOwnVoltage;
  const double volts = circuit().solve({source_amps, 0}, clock_.seconds()).force;
  if (std::abs(volts) > draw_.source_v) {
    meter_error();
    r.value = kOverRange;
    r.status |= kStatusOverRange | kStatusSourceLimit;
    return r;
  }
  r.value = (volts + meter_error()) / source_amps;
  return r;
}

Reading Instrument::four_wire() {
  ENSURE(draw_.wires == 4);
  begin(true);
  clock_.wait(draw_.settle_s);
  const Potentials plus = circuit().solve({source_amps, 0}, clock_.seconds());
  const double high = plus.sense + meter_error();
  const Potentials minus = circuit().solve({-source_amps, 0}, clock_.seconds());
  const double low = minus.sense + meter_error();
  Reading r;
  // What does not turn round with the current: the meter's offset, hum, noise, a battery.
  const double common = std::abs(high + low) / 2;
  const double share = std::abs(high - low) / 2;
  if (common > 5e-4 + std::abs(draw_.offset_v) + 0.02 * share) r.status |= kStatusHalvesDisagree;
  if (common > kOwnVolts + 0.02 * share) r.status |= kStatusOwnVoltage;
  if (std::max(std::abs(plus.force), std::abs(minus.force)) > draw_.source_v) {
    r.value = kOverRange;
    r.status |= kStatusOverRange | kStatusSourceLimit;
    return r;
  }
  r.value = (high - low) / (2 * source_amps);
  return r;
}

// The source works through a range resistor a tenth of the threshold; the meter takes the voltage
// across the rows and across that resistor. Wires charge through the range resistor beside what is
// measured.
Reading Instrument::isolation(double threshold_ohm) {
  begin(false);
  clock_.wait(draw_.settle_s);
  Reading r;
  if (own_voltage()) r.status |= kStatusOwnVoltage;
  const double least = source_volts / draw_.source_a;
  const double range = std::clamp(threshold_ohm / 10, least, std::max(least, kMaxRangeOhm));
  const Drive drive{source_volts / range, 1 / range};
  const double settled = circuit().solve(drive, clock_.seconds()).force;
  const double share =
      std::clamp(settled / source_volts, 0.0, 1.0);  // what is measured / (that + range)
  const double tau = range * share * circuit().farad();
  const double wanted = tau * std::log(1 / kSettled);
  const double waited = std::min(wanted, kMaxSettleSeconds);
  if (waited < wanted) r.status |= kStatusNotSettled;
  clock_.wait(waited);
  const double charging = tau > 0 ? std::exp(-waited / tau) : 0.0;
  double reached = settled * (1 - charging);
  const auto look = [&](double error, double other) {
    const double amps = (source_volts - (reached + error) + other) / range;
    return amps > 0 ? (reached + error) / amps : kOverRange;
  };
  double ohms = 0;
  if (draw_.mains_integration) {
    if (moving_) {
      reached = mean_force(drive, 1 / kMainsHertz) * (1 - charging);
    } else {
      clock_.wait(1 / kMainsHertz);
    }
    const double error = integrated_error();
    ohms = look(error, integrated_error());
  } else {
    const auto at_once = [&] {
      if (moving_) reached = circuit().solve(drive, clock_.seconds()).force * (1 - charging);
      const double error = meter_error();
      return look(error, meter_error());
    };
    ohms = at_once();
    clock_.wait(std::max(0.0, 0.5 / kMainsHertz - 2 * draw_.convert_s));
    const double later = at_once();
    const bool both_over = std::min(ohms, later) > largest_ohms();
    if (!both_over && std::abs(ohms - later) > 0.05 * std::min(ohms, later))
      r.status |= kStatusHalvesDisagree;
  }
  clock_.wait(draw_.settle_s);  // discharge
  if (!draw_.discharge) charge_v_ = reached;
  if (ohms > largest_ohms()) {
    r.value = kOverRange;
    r.status |= kStatusOverRange;
  } else {
    r.value = std::max(ohms, 0.0);
  }
  return r;
}

Reading Instrument::contact() {
  ENSURE(commanded_.size() == 1 && commanded_[0].row <= 2);
  clock_.wait(draw_.settle_s + draw_.convert_s);
  const int row = commanded_[0].row;
  Reading r;
  r.value = 0;
  for (const Crosspoint& p : conducting()) {
    if (p.row == row && laid().tips[static_cast<std::size_t>(p.channel - 1)].at.conductor >= 0)
      r.value = 1;
  }
  return r;
}

Reading Instrument::volts() {
  begin(false);
  clock_.wait(draw_.settle_s);
  return {
      circuit().solve({}, clock_.seconds()).force + meter_error() + std::exchange(charge_v_, 0.0),
      0};
}

double Instrument::largest_ohms() const {
  // One open switch of each channel lies across the rows when the other is closed.
  const double leak = draw_.switch_leak_a * channels_;
  const double bound = leak > 0 ? draw_.source_v / leak : 1e9;
  if (bound >= 1e9) return 1e9;
  const double decade = std::pow(10.0, std::floor(std::log10(bound)));
  return std::floor(bound / decade) * decade;
}

}  // namespace isthmus::hostsim
