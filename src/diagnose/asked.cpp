// SPDX-License-Identifier: Apache-2.0
#include "diagnose/asked.hpp"

#include <algorithm>

namespace isthmus::diagnose {

Asked::Asked(const plan::Plan& plan) : in_placement_(plan.placements.size()) {
  for (const plan::Step& step : plan.steps) add(step);
}

Asked::Key Asked::key_of(const plan::Step& s) {
  return {s.placement, s.kind, s.source, s.ret, s.sense_high, s.sense_low};
}

void Asked::add(const plan::Step& step) {
  ++times_[key_of(step)];
  in_placement_.at(step.placement).push_back(steps_++);
  last_block_ = std::max(last_block_, step.block);
  if (step.kind != plan::StepKind::reference) return;
  const auto same = [&](const auto& known) { return known.first == step.reference; };
  if (std::ranges::none_of(references_, same)) references_.emplace_back(step.reference, step.limit);
}

std::size_t Asked::times(const plan::Step& like) const {
  const auto found = times_.find(key_of(like));
  return found == times_.end() ? 0 : found->second;
}

}  // namespace isthmus::diagnose
