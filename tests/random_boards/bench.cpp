// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/bench.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <queue>

#include "tests/random_boards/touch.hpp"

namespace isthmus::random_boards {
namespace {

using formats::Channel;
using plan::StepKind;

double gauss(Rng& rng) {  // Irwin and Hall: twelve even ones
  double sum = -6;
  for (int i = 0; i < 12; ++i) sum += rng.real(0, 1);
  return sum;
}

}  // namespace

Bench::Bench(const RandomBoard& board, const std::vector<Fault>& faults, const plan::Plan& plan,
             const BenchSetup& setup)
    : b_(board), network_(board, faults), plan_(plan), setup_(setup), rng_(board.seed * 7919 + 5) {
  for (std::size_t p = 0; p < plan.placements.size(); ++p) lay(p);
}

void Bench::lay(std::size_t placement) {
  for (const plan::Probe& p : plan_.placements[placement].probes) {
    const Pt at{static_cast<double>(p.at.x) / 1e6, static_cast<double>(p.at.y) / 1e6};
    const auto piece = touched(b_, network_, at, p.side == Side::bottom ? 1 : 0);
    for (const auto c : {std::optional(p.channel), p.twin}) {
      if (!c) continue;
      const Tip tip{placement, *c};
      const double own = setup_.contact * (1 + rng_.real(-1, 1) * setup_.spread);
      const auto dull = setup_.tarnish.find(tip);
      contact_[tip] = dull == setup_.tarnish.end() ? own : dull->second;
      if (piece && !setup_.missing.contains(tip)) piece_[tip] = *piece;
    }
  }
  if (!setup_.swap) return;
  const Tip a{placement, setup_.swap->first}, b{placement, setup_.swap->second};
  const auto at = [&](const Tip& t) {
    const auto it = piece_.find(t);
    return it == piece_.end() ? std::nullopt : std::optional(it->second);
  };
  const auto of_a = at(a), of_b = at(b);
  piece_.erase(a), piece_.erase(b);
  if (of_a) piece_[b] = *of_a;
  if (of_b) piece_[a] = *of_b;
}

bool Bench::touches(const plan::Step& step, Channel c) const {
  const Tip tip{step.placement, c};
  if (!piece_.contains(tip)) return false;
  const auto late = setup_.late.find(tip);
  if (late != setup_.late.end() && measured_.at(step.placement) < late->second) return false;
  return !(setup_.drops == tip && step.volts.value > 0);
}

// Of row 1 and of row 2, as far as the switches pull in.
std::pair<Bench::Closed, Bench::Closed> Bench::closed(const plan::Step& step) const {
  Closed one(step.source.begin(), step.source.end()), two(step.ret.begin(), step.ret.end());
  if (setup_.pulls_in == 0 || one.size() + two.size() <= setup_.pulls_in) return {one, two};
  if (!setup_.weak.empty()) {
    for (const Channel c : setup_.weak) one.erase(c), two.erase(c);
    return {one, two};
  }
  std::size_t left = setup_.pulls_in;
  for (Closed* row : {&one, &two}) {
    while (row->size() > left) row->erase(std::prev(row->end()));
    left -= row->size();
  }
  return {one, two};
}

double Bench::contact(std::size_t placement, Channel c) const {
  const auto it = contact_.find({placement, c});
  return it == contact_.end() ? 0 : it->second;
}

// The least way from row to row: contacts, one stretch of copper (in a piece the step's own, or a
// little), wires that touch.
std::optional<double> Bench::ohms(const plan::Step& step) const {
  const auto [from, to] = closed(step);
  const double scale = setup_.stated_um / 35;
  const double copper = step.predicted ? step.predicted->ohms.value * scale : 0.02;
  constexpr double kWire = 0.1;
  std::map<std::pair<bool, std::size_t>, double> reach;  // (is a piece, number)
  using Item = std::pair<double, std::pair<bool, std::size_t>>;
  std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
  const auto go = [&](bool is_piece, std::size_t number, double r) {
    const auto [it, fresh] = reach.try_emplace({is_piece, number}, r);
    if (!fresh && it->second <= r) return;
    it->second = r;
    queue.push({r, {is_piece, number}});
  };
  const auto at = [](Channel c) { return static_cast<std::size_t>(c); };
  for (const Channel c : from) go(false, at(c), 0);
  const auto first = piece_.lower_bound({step.placement, 0});
  const auto last = piece_.lower_bound({step.placement + 1, 0});
  while (!queue.empty()) {
    const auto [r, node] = queue.top();
    queue.pop();
    if (r > reach.at(node)) continue;
    if (node.first) {
      for (auto it = first; it != last; ++it) {
        if (it->second == node.second && touches(step, it->first.second))
          go(false, at(it->first.second),
             r + contact(step.placement, it->first.second) + copper / 2);
      }
      continue;
    }
    const auto c = static_cast<Channel>(node.second);
    const auto under = piece_.find({step.placement, c});
    if (under != piece_.end() && touches(step, c))
      go(true, under->second, r + contact(step.placement, c) + copper / 2);
    for (const auto& [a, b] : setup_.wires) {
      if (a == c) go(false, at(b), r + kWire);
      if (b == c) go(false, at(a), r + kWire);
    }
  }
  std::optional<double> best;
  for (const Channel c : to) {
    const auto it = reach.find({false, at(c)});
    if (it != reach.end() && (!best || it->second < *best)) best = it->second;
  }
  return best;
}

plan::Outcome Bench::resistance(const plan::Step& step, double most) {
  const auto r = ohms(step);
  if (!r || *r > most) return plan::OverRange{};
  // A session asks by two wires first and takes no four-wire value that lacks them; so the two
  // faults of the sensing stage can but lower what conducts anyway.
  double value = *r;
  const bool four_wire =
      plan_.wires == 4 && !step.source.empty() && !step.ret.empty() && step.volts.value == 0;
  if (four_wire && setup_.clips > 0) value = std::min(value, setup_.clips);
  if (four_wire && setup_.sense_stuck &&
      (step.source[0] == *setup_.sense_stuck || step.ret[0] == *setup_.sense_stuck))
    value = 0;
  value += setup_.noise * gauss(rng_);
  return plan::Measured{value, std::abs(value) * 1e-3 + 1e-4 + setup_.noise};
}

plan::Outcome Bench::measured(const plan::Step& step) {
  const auto [one, two] = closed(step);
  if (step.kind == StepKind::board_voltage) return plan::Measured{0.0, 1e-4};
  if (step.kind == StepKind::reference) {
    const bool current = step.volts.value == 0 && step.limit.value < 1e5;
    const bool dead = setup_.dead_source && !current;
    if (dead) return plan::OverRange{};
    return plan::Measured{
        current && setup_.clips > 0 ? std::min(step.limit.value, setup_.clips) : step.limit.value,
        0.1};
  }
  if (step.kind == StepKind::contact && (step.source.empty() || step.ret.empty())) {
    bool metal = setup_.check_always;
    for (const Channel c : {step.tip()}) {
      metal = metal || touches(step, c);
      for (const auto& [a, b] : setup_.wires)
        metal = metal || (a == c && touches(step, b)) || (b == c && touches(step, a));
    }
    return plan::Measured{metal && !(one.empty() && two.empty()) ? 1.0 : 0.0, 0};
  }
  const bool by_voltage = step.kind == StepKind::isolation || step.volts.value > 0;
  if (by_voltage && setup_.dead_source) return plan::OverRange{};
  if (by_voltage && setup_.times_out > 0 &&
      step.source.size() + step.ret.size() >= setup_.times_out)
    return plan::OverRange{};
  return resistance(step, by_voltage ? 1e9 : 1e5);
}

plan::Outcome Bench::answer(const plan::Step& step) {
  ++measured_[step.placement];
  const bool stale = setup_.stale.contains(number_++);
  plan::Outcome now = measured(step);
  if (setup_.spoilt > 0 && step.kind != StepKind::board_voltage && rng_.chance(setup_.spoilt))
    now = plan::NoReading{"hum"};
  std::swap(now, last_);
  return stale ? now : last_;
}

}  // namespace isthmus::random_boards
