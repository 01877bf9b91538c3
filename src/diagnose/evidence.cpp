// SPDX-License-Identifier: Apache-2.0
#include "diagnose/evidence.hpp"

#include <algorithm>

namespace isthmus::diagnose {
namespace {

using plan::Step;
using plan::StepKind;

std::pair<Channel, Channel> ordered(Channel a, Channel b) {
  return {std::min(a, b), std::max(a, b)};
}

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
      return is_low(reading, step.limit);
    case StepKind::reference:
      return reference_right(reading, step.limit);
    default:
      return true;
  }
}

struct BlockState {
  std::uint32_t first_isolation{UINT32_MAX}, last_isolation{};
  std::vector<std::uint32_t> open_controls, conducting_controls;
  bool wrong{false};
  bool continuity_low{false}, continuity_high{false}, touched{false};

  // A meter stuck low would make every pair conduct, one stuck high none.
  [[nodiscard]] bool continuity_guarded() const {
    if (continuity_low && open_controls.empty()) return false;
    return !continuity_high || continuity_low || touched || !conducting_controls.empty();
  }
  // A control on either side of all isolation readings, of both kinds.
  [[nodiscard]] bool guarded() const {
    if (first_isolation == UINT32_MAX) return true;
    const auto around = [&](const std::vector<std::uint32_t>& controls) {
      return std::ranges::any_of(controls, [&](auto s) { return s < first_isolation; }) &&
             std::ranges::any_of(controls, [&](auto s) { return s > last_isolation; });
    };
    return around(open_controls) && around(conducting_controls);
  }
};

}  // namespace

bool usable(const plan::Reading& reading) {
  constexpr unsigned kSpoiled = plan::kStatusNotSettled | plan::kStatusHalvesDisagree |
                                plan::kStatusBoardVoltage | plan::kStatusNotDone;
  return (reading.status & kSpoiled) == 0 &&
         !std::holds_alternative<plan::NoReading>(reading.outcome);
}

bool is_low(const plan::Reading& reading, Ohms limit) {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (!usable(reading) || !m) return false;
  return m->value <= limit.value - kGuard * m->uncertainty &&
         m->value >= -kBelowZero * m->uncertainty;
}

bool is_high(const plan::Reading& reading, Ohms limit) {
  if (!usable(reading)) return false;
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  return !m || m->value > limit.value + kGuard * m->uncertainty;
}

Evidence::Evidence(const plan::Plan& plan, std::span<const plan::Reading> readings) : plan_(plan) {
  const std::size_t n = plan.placements.size();
  heard_.resize(n);
  touches_.resize(n);
  isolations_.resize(n);
  by_current_.resize(n);
  reached_.resize(n);
  distrusted_.resize(n);
  judge_blocks(readings);
  for (const plan::Reading& r : readings) {
    const Step& step = plan_.step(r.step);
    reached_[step.placement] = true;
    if (!bad_blocks_.contains(step.block)) take(step, r);
  }
  const auto leakage = [&](std::size_t p, int row, const std::vector<Channel>& channels) {
    const auto it = leakages_.find({p, row, channels});
    return it == leakages_.end() ? 0.0 : it->second;
  };
  for (std::size_t p = 0; p < n; ++p) {
    for (IsolationReading& r : isolations_[p])
      r.leakage = leakage(p, 1, r.source) + leakage(p, 2, r.ret);
  }
}

void Evidence::judge_blocks(std::span<const plan::Reading> readings) {
  std::map<std::size_t, BlockState> blocks;
  for (const plan::Reading& r : readings) {
    const Step& step = plan_.step(r.step);
    BlockState& block = blocks[step.block];
    if (step.kind == StepKind::isolation) {
      block.first_isolation = std::min(block.first_isolation, r.sequence);
      block.last_isolation = std::max(block.last_isolation, r.sequence);
      continue;
    }
    if (step.kind == StepKind::continuity) {
      (is_low(r, step.limit) ? block.continuity_low : block.continuity_high) = true;
      continue;
    }
    if (step.kind == StepKind::contact) {
      const auto* m = std::get_if<plan::Measured>(&r.outcome);
      if (usable(r) && m && (step.by_check() ? m->value > 0.5 : m->value <= step.limit.value))
        block.touched = true;
      continue;
    }
    const bool control = step.kind == StepKind::control_open ||
                         step.kind == StepKind::control_short || step.kind == StepKind::reference;
    if (!control) continue;
    // A pair that this very board leaves open is no known-conducting control: it says nothing
    // either way.
    if (step.kind == StepKind::control_short && !control_right(step, r)) continue;
    if (!control_right(step, r)) {
      block.wrong = true;
      if (step.volts.value > 0 && usable(r)) distrusted_[step.placement] = true;
    }
    auto& list =
        step.kind == StepKind::control_open ? block.open_controls : block.conducting_controls;
    list.push_back(r.sequence);
  }
  for (const auto& [number, block] : blocks) {
    if (block.wrong || !block.guarded() || !block.continuity_guarded()) bad_blocks_.insert(number);
  }
}

void Evidence::take(const Step& step, const plan::Reading& reading) {
  switch (step.kind) {
    case StepKind::contact:
      return take_contact(step, reading);
    case StepKind::continuity:
      return take_continuity(step, reading);
    case StepKind::isolation:
      return take_isolation(step, reading);
    case StepKind::control_open:
      return take_leakage(step, reading);
    case StepKind::resistance:
      if (const auto* m = std::get_if<plan::Measured>(&reading.outcome); m && usable(reading)) {
        by_current_[step.placement][ordered(step.source.at(0), step.ret.at(0))] = {m->value,
                                                                                   m->uncertainty};
      }
      return;
    default:
      return;
  }
}

void Evidence::prove(std::size_t placement, int row, Channel channel, std::uint32_t sequence) {
  touches_[placement].proven[{row, channel}].push_back(sequence);
}

void Evidence::take_contact(const Step& step, const plan::Reading& reading) {
  Touches& t = touches_[step.placement];
  const int row = step.source.empty() ? 2 : 1;
  const Channel probe = step.tip();
  ++t.tries[probe];
  if (!usable(reading)) return;
  if (step.by_check()) {
    const auto* m = std::get_if<plan::Measured>(&reading.outcome);
    if (m && m->value > 0.5)
      prove(step.placement, row, probe, reading.sequence);
    else
      ++t.missing[probe];
    return;
  }
  if (is_low(reading, step.limit)) {
    prove(step.placement, 1, step.source[0], reading.sequence);
    prove(step.placement, 2, step.ret[0], reading.sequence);
  } else {
    ++t.missing[probe];
  }
}

// Far less than the copper between the tips can have: a sense switch that does not close reads
// nothing at all. Foil and etch never make copper four times as thick or wide; common practice, no
// source.
bool Evidence::too_little(const Step& step, const plan::Reading& reading) const {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (!m || !step.predicted || (plan_.wires != 4 && !plan_.zeroed)) return false;
  return m->value + kBelowZero * m->uncertainty < step.predicted->ohms.value / 4;
}

void Evidence::take_continuity(const Step& step, const plan::Reading& reading) {
  const Channel a = step.source.at(0), b = step.ret.at(0);
  Heard& h = heard_[step.placement][ordered(a, b)];
  if (step.predicted) h.predicted = step.predicted;
  const bool fair = !too_little(step, reading);
  if (fair && is_low(reading, step.limit)) {
    h.lows.push_back(std::get<plan::Measured>(reading.outcome).value);
    prove(step.placement, 1, a, reading.sequence);
    prove(step.placement, 2, b, reading.sequence);
  } else if (fair && is_high(reading, step.limit)) {
    ++h.highs;
  } else {
    ++h.none;
  }
}

void Evidence::take_isolation(const Step& step, const plan::Reading& reading) {
  if (!usable(reading)) return;
  IsolationReading r{step.source, step.ret, reading.sequence, step.block, false, 0, 0};
  if (const auto* m = std::get_if<plan::Measured>(&reading.outcome)) {
    r.ohms = m->value;
    r.uncertainty = m->uncertainty;
  } else {
    r.over_range = true;
  }
  isolations_[step.placement].push_back(std::move(r));
}

void Evidence::take_leakage(const Step& step, const plan::Reading& reading) {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (!usable(reading) || !m || m->value <= 0 || step.volts.value == 0) return;
  const bool high = step.ret.empty();
  double& leakage = leakages_[{step.placement, high ? 1 : 2, high ? step.source : step.ret}];
  leakage = std::max(leakage, 1 / m->value);
}

Heard Evidence::between(std::size_t placement, Channel a, Channel b) const {
  const auto it = heard_[placement].find(ordered(a, b));
  return it == heard_[placement].end() ? Heard{} : it->second;
}

const std::map<std::pair<Channel, Channel>, Heard>& Evidence::heard(std::size_t placement) const {
  return heard_[placement];
}

Touch Evidence::touch(std::size_t placement, Channel channel) const {
  const Touches& t = touches_[placement];
  const bool proven = t.proven.contains({1, channel}) || t.proven.contains({2, channel});
  const auto missing = t.missing.find(channel);
  if (missing != t.missing.end() && missing->second > 0)
    return proven ? Touch::unknown : Touch::missing;
  return proven ? Touch::proven : Touch::unknown;
}

bool Evidence::proven_around(std::size_t placement, int row, Channel channel,
                             std::uint32_t sequence) const {
  const auto it = touches_[placement].proven.find({row, channel});
  if (it == touches_[placement].proven.end()) return false;
  return std::ranges::any_of(it->second, [&](auto s) { return s < sequence; }) &&
         std::ranges::any_of(it->second, [&](auto s) { return s > sequence; });
}

bool Evidence::contact_unread(std::size_t placement, Channel channel) const {
  const Touches& t = touches_[placement];
  return contact_tries(placement, channel) > 0 && !t.missing.contains(channel) &&
         !t.proven.contains({1, channel}) && !t.proven.contains({2, channel});
}

std::size_t Evidence::contact_tries(std::size_t placement, Channel channel) const {
  const auto it = touches_[placement].tries.find(channel);
  return it == touches_[placement].tries.end() ? 0 : it->second;
}

const std::vector<IsolationReading>& Evidence::isolations(std::size_t placement) const {
  return isolations_[placement];
}

std::optional<std::pair<double, double>> Evidence::by_current(std::size_t placement, Channel a,
                                                              Channel b) const {
  const auto it = by_current_[placement].find(ordered(a, b));
  return it == by_current_[placement].end() ? std::nullopt : std::optional(it->second);
}

bool Evidence::reached(std::size_t placement) const { return reached_[placement]; }

std::size_t Evidence::times_asked(const Step& like) const {
  return static_cast<std::size_t>(std::ranges::count_if(plan_.steps, [&](const Step& s) {
    return s.placement == like.placement && s.kind == like.kind && s.source == like.source &&
           s.ret == like.ret && s.sense_high == like.sense_high && s.sense_low == like.sense_low;
  }));
}

}  // namespace isthmus::diagnose
