// SPDX-License-Identifier: Apache-2.0
#include "diagnose/blocks.hpp"

#include <algorithm>
#include <cmath>

#include "diagnose/evidence.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus::diagnose {
namespace {

using plan::Step;
using plan::StepKind;

// A reference may be off by a twentieth and by the switches' ohm or so (the meter sits beside the
// matrix).
bool reference_right(const plan::Reading& reading, Ohms nominal) {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  return m && std::abs(m->value - nominal.value) <= 0.05 * nominal.value + 1.0;
}

bool control_right(const Step& step, const plan::Reading& reading) {
  switch (step.kind) {
    case StepKind::control_open:
      return is_high(reading, step.limit);
    case StepKind::control_short:
      return touches_metal(reading, step.limit);
    case StepKind::reference:
      return reference_right(reading, step.limit);
    case StepKind::board_voltage:
    case StepKind::contact:
    case StepKind::continuity:
    case StepKind::isolation:
    case StepKind::isolation_by_current:
    case StepKind::resistance:
      break;  // no controls
  }
  ENSURE(false);
}

}  // namespace

void Block::take(const Step& step, const plan::Reading& reading) {
  readings_.push_back(reading);
  switch (step.kind) {
    case StepKind::isolation:
      first_isolation_ = std::min(first_isolation_, reading.sequence);
      last_isolation_ = std::max(last_isolation_, reading.sequence);
      return;
    case StepKind::continuity:
      (is_low(reading, step.limit) ? continuity_low_ : continuity_high_) = true;
      return;
    case StepKind::contact:
      return take_contact(step, reading);
    case StepKind::control_open:
    case StepKind::control_short:
    case StepKind::reference:
      return take_control(step, reading);
    case StepKind::board_voltage:
    case StepKind::isolation_by_current:
    case StepKind::resistance:
      return;
  }
}

void Block::take_contact(const Step& step, const plan::Reading& reading) {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (step.expects_no_contact()) {
    wrong_ = wrong_ || (m && m->value > 0.5);
    return;
  }
  if (usable(reading) && m &&
      (step.by_check() ? m->value > 0.5 : touches_metal(reading, step.limit)))
    touched_ = true;
}

void Block::take_control(const Step& step, const plan::Reading& reading) {
  const bool right = control_right(step, reading);
  // A pair that this very board leaves open is no known-conducting control: it says nothing either
  // way.
  if (step.kind == StepKind::control_short && !right) return;
  if (!right) {
    wrong_ = true;
    if (step.volts.value > 0 && usable(reading)) distrusted_ = true;
  }
  (step.kind == StepKind::control_open ? open_controls_ : conducting_controls_)
      .push_back(reading.sequence);
}

// A meter stuck low would make every pair conduct, one stuck high none.
bool Block::continuity_guarded() const {
  if (continuity_low_ && open_controls_.empty()) return false;
  return !continuity_high_ || continuity_low_ || touched_ || !conducting_controls_.empty();
}

// A control on either side of all isolation readings, of both kinds.
bool Block::guarded() const {
  if (first_isolation_ == UINT32_MAX) return true;
  const auto around = [&](const std::vector<std::uint32_t>& controls) {
    return std::ranges::any_of(controls, [&](auto s) { return s < first_isolation_; }) &&
           std::ranges::any_of(controls, [&](auto s) { return s > last_isolation_; });
  };
  return around(open_controls_) && around(conducting_controls_);
}

}  // namespace isthmus::diagnose
