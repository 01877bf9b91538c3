// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/circuits.hpp"

#include <algorithm>

namespace isthmus::audit {

using plan::StepKind;

Circuits::Circuits(const Bench& bench, const plan::Plan& plan, const Faulty& good) : bench_(bench) {
  const std::vector<Label> under = bench.labels(good);
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    const plan::Step& step = plan.steps[i];
    if (step.kind == StepKind::board_voltage || step.kind == StepKind::reference) continue;
    Wired w;
    for (const plan::Channel c : step.source) w.from.push_back(bench.contact(step.placement, c));
    for (const plan::Channel c : step.ret) w.to.push_back(bench.contact(step.placement, c));
    w.check = step.kind == StepKind::contact && (w.from.empty() || w.to.empty());
    w.step = i;
    w.conducts = conducts(w, under);
    wired_.push_back(std::move(w));
  }
}

bool Circuits::conducts(const Wired& w, const std::vector<Label>& under) {
  const auto lies = [&](std::uint32_t c) { return c != kNone && under[c] != kNone; };
  if (w.check) return std::ranges::any_of(w.from, lies) || std::ranges::any_of(w.to, lies);
  ++epoch_;
  for (const std::uint32_t c : w.from) {
    if (!lies(c)) continue;
    if (mark_.size() <= under[c]) mark_.resize(under[c] + 1, 0);
    mark_[under[c]] = epoch_;
  }
  return std::ranges::any_of(w.to, [&](std::uint32_t c) {
    return lies(c) && under[c] < mark_.size() && mark_[under[c]] == epoch_;
  });
}

std::vector<std::size_t> Circuits::changed(const Faulty& board, std::size_t most) {
  std::vector<std::size_t> steps;
  const std::vector<Label> under = bench_.labels(board);
  for (const Wired& w : wired_) {
    if (steps.size() == most) break;
    if (conducts(w, under) != w.conducts) steps.push_back(w.step);
  }
  return steps;
}

}  // namespace isthmus::audit
