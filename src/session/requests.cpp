// SPDX-License-Identifier: Apache-2.0
#include "session/requests.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::session {
namespace {

using adapter::Capabilities;
using adapter::Measure;
using adapter::Request;
using plan::Step;
using plan::StepKind;

// From here on a resistance is measured by applying a voltage: the current source could not drive
// it.
constexpr double kHighOhms = 1e5;
constexpr double kLowTestVoltage = 5;  // where the plan names none

void close(Request& request, int row, const std::vector<plan::Channel>& channels) {
  for (const plan::Channel c : channels) request.closed.push_back({row, c});
}

void by_voltage(Request& request, const Step& step, const Capabilities& can) {
  request.what = Measure::isolation;
  request.volts =
      step.volts.value > 0 ? step.volts : Volts{std::min(kLowTestVoltage, can.voltage_v)};
  request.at_least = step.limit;
}

// Four wires need something on both force rows to sense.
void by_current(Request& request, const Step& step, int wires) {
  request.what = Measure::resistance;
  if (wires != 4 || step.source.empty() || step.ret.empty()) return;
  request.what = Measure::four_wire;
  request.closed.push_back({3, step.sense_high ? step.sense_high : step.source.front()});
  request.closed.push_back({4, step.sense_low ? step.sense_low : step.ret.front()});
}

}  // namespace

Request request_of(const Step& step, int wires, const Capabilities& can) {
  Request request;
  close(request, 1, step.source);
  close(request, 2, step.ret);
  switch (step.kind) {
    case StepKind::board_voltage:
      request.what = Measure::voltage;
      break;
    case StepKind::reference:
      request.reference = step.reference;
      if (step.volts.value > 0 ||
          can.references.at(static_cast<std::size_t>(step.reference) - 1) >= kHighOhms) {
        by_voltage(request, step, can);
      } else {
        request.what = wires == 4 ? Measure::four_wire : Measure::resistance;
      }
      break;
    case StepKind::contact:
      if (step.by_check())
        request.what = Measure::contact;
      else
        by_current(request, step, wires);
      break;
    case StepKind::control_open:
    case StepKind::control_short:
      if (step.volts.value > 0)
        by_voltage(request, step, can);
      else  // what must be open is heard through the force rows alone, whichever two conduct
        by_current(request, step, step.kind == StepKind::control_open ? 2 : wires);
      break;
    case StepKind::isolation:
      by_voltage(request, step, can);
      break;
    case StepKind::isolation_by_current:  // whichever two conduct
      by_current(request, step, 2);
      break;
    case StepKind::continuity:
    case StepKind::resistance:
      by_current(request, step, wires);
      break;
  }
  return request;
}

std::vector<Request> requests_of(const Step& step, int wires, const Capabilities& can) {
  std::vector<Request> out{request_of(step, wires, can)};
  // A reference is asked both ways too: a stage that only four wires use may clip.
  const bool proves = step.kind == StepKind::continuity || step.kind == StepKind::contact ||
                      step.kind == StepKind::reference;
  if (!proves || out[0].what != Measure::four_wire) return out;
  Request plain = out[0];
  plain.what = Measure::resistance;
  std::erase_if(plain.closed, [](const adapter::Crosspoint& c) { return c.row > 2; });
  out.insert(out.begin(), std::move(plain));
  return out;
}

adapter::Answer confirmed(adapter::Answer answer, const adapter::Answer& without_sense) {
  if (answer.over_range || answer.none) return answer;
  using namespace adapter::status;
  answer.status |=
      without_sense.status & (kNotSettled | kHalvesDisagree | kBoardVoltage | kNotDone);
  answer.none = without_sense.over_range || without_sense.none;
  return answer;
}

adapter::Answer worse_of(const adapter::Answer& four_wire, const adapter::Answer& two_wire,
                         double nominal) {
  const auto has_value = [](const adapter::Answer& a) { return !a.over_range && !a.none; };
  adapter::Answer worse = four_wire;
  if (has_value(four_wire) && (!has_value(two_wire) || std::fabs(two_wire.value - nominal) >
                                                           std::fabs(four_wire.value - nominal)))
    worse = two_wire;
  worse.status = four_wire.status | two_wire.status;
  return worse;
}

bool ForcePaths::fits(double two_wire, double four_wire) {
  const double lead = two_wire - four_wire;
  constexpr std::size_t kEnough = 3;
  if (leads_.size() >= kEnough) {
    auto sorted = leads_;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
    std::ranges::nth_element(sorted, middle);
    if (lead > *middle + std::max(kMostMore, *middle / 4)) return false;
  }
  if (leads_.size() < kMost) leads_.push_back(lead);
  return true;
}

double uncertainty_of(double value, const Request& request, const Capabilities& can) {
  constexpr double kScale = 0.001;
  switch (request.what) {
    case Measure::contact:
      return 0;
    case Measure::voltage:
      return can.noise_v;
    case Measure::resistance:
    case Measure::four_wire:
      return std::hypot(can.noise_v / (std::sqrt(2.0) * can.source_a), kScale * value);
    case Measure::isolation: {
      const double leaking = can.leakage_a * can.channels;
      const double by_leak = value * value * leaking / request.volts.value;
      return std::hypot(kScale * value, by_leak, value * can.noise_v / request.volts.value);
    }
  }
  ENSURE(false);
}

plan::Outcome outcome_of(const adapter::Answer& answer, const Request& request,
                         const Capabilities& can) {
  if (answer.status & adapter::status::kNotDone) {
    return plan::NoReading{"the adapter did not carry it out"};
  }
  if (answer.none) return plan::NoReading{"the adapter gave no usable value"};
  if (answer.over_range) return plan::OverRange{};
  return plan::Measured{answer.value, uncertainty_of(answer.value, request, can)};
}

double seconds_for(const Request& request, const Capabilities& can) {
  double s = can.settle_s + 2 * can.convert_s;
  if (request.what == Measure::isolation)
    s += std::min(2.0, 2e-9 * request.at_least.value);  // 1 nF, twice RC
  return s;
}

}  // namespace isthmus::session
