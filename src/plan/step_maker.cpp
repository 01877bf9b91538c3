// SPDX-License-Identifier: Apache-2.0
#include "isthmus/plan/step_maker.hpp"

#include <algorithm>

namespace isthmus::plan {

Step StepMaker::make(StepKind kind, std::vector<Channel> source, std::vector<Channel> ret) const {
  Step step;
  step.placement = placement_;
  step.kind = kind;
  step.source = std::move(source);
  step.ret = std::move(ret);
  step.block = block_;
  return step;
}

Step StepMaker::board_voltage(std::vector<Channel> source, std::vector<Channel> ret) const {
  return make(StepKind::board_voltage, std::move(source), std::move(ret));
}

Step StepMaker::reference(int number, Ohms nominal, Volts volts) const {
  Step step = make(StepKind::reference, {}, {});
  step.reference = number;
  step.limit = nominal;
  step.volts = volts;
  return step;
}

Step StepMaker::open_on_row_1(std::vector<Channel> channels, Volts volts) const {
  Step step = make(StepKind::control_open, std::move(channels), {});
  step.volts = volts;
  step.limit = volts.value > 0 ? limits_.isolation : limits_.continuity * 10;
  return step;
}

Step StepMaker::open_on_row_2(std::vector<Channel> channels, Volts volts) const {
  Step step = open_on_row_1(std::move(channels), volts);
  std::swap(step.source, step.ret);
  return step;
}

Step StepMaker::open_in_air(std::vector<Channel> source, std::vector<Channel> ret) const {
  Step step = open_on_row_1(std::move(source), Volts{0});
  step.ret = std::move(ret);
  return step;
}

Step StepMaker::control_short(Channel source, Channel ret, Volts volts) const {
  Step step = make(StepKind::control_short, {source}, {ret});
  step.volts = volts;
  step.limit = volts.value > 0 ? limits_.bridge : limits_.continuity;
  return step;
}

Step StepMaker::loaded_on_row_1(Channel channel, Channel partner, std::vector<Channel> others,
                                Volts volts) const {
  Step step = control_short(channel, partner, volts);
  others.push_back(partner);
  std::ranges::sort(others);
  step.ret = std::move(others);
  return step;
}

Step StepMaker::loaded_on_row_2(Channel channel, Channel partner, std::vector<Channel> others,
                                Volts volts) const {
  Step step = loaded_on_row_1(channel, partner, std::move(others), volts);
  std::swap(step.source, step.ret);
  return step;
}

std::optional<Step> StepMaker::contact(const Probe& probe, bool by_row1) const {
  if (!contact_check_ && !probe.twin) return std::nullopt;
  std::vector<Channel> other;
  if (!contact_check_) other = {*probe.twin};
  Step step = make(StepKind::contact, {probe.channel}, std::move(other));
  if (!by_row1) std::swap(step.source, step.ret);
  if (!contact_check_) step.limit = limits_.continuity;
  step.points = {probe.point};
  step.contact_by_row1 = by_row1;
  return step;
}

Step StepMaker::no_contact(Channel channel, bool by_row1) const {
  Step step = make(StepKind::contact, {channel}, {});
  if (!by_row1) std::swap(step.source, step.ret);
  step.contact_by_row1 = by_row1;
  return step;
}

Step StepMaker::continuity(const Probe& source, const Probe& ret, std::vector<GroupId> groups,
                           std::optional<copper::Predicted> predicted) const {
  Step step = make(StepKind::continuity, {source.channel}, {ret.channel});
  step.groups = std::move(groups);
  step.points = {source.point, ret.point};
  step.limit = limits_.continuity;
  step.predicted = predicted;
  return step;
}

Step StepMaker::isolation(std::vector<Channel> source, std::vector<Channel> ret,
                          std::vector<GroupId> groups) const {
  Step step = make(StepKind::isolation, std::move(source), std::move(ret));
  step.groups = std::move(groups);
  std::ranges::sort(step.groups);
  step.limit = limits_.isolation;
  step.volts = limits_.voltage;
  return step;
}

Step StepMaker::isolation_by_current(std::vector<Channel> source, std::vector<Channel> ret,
                                     std::vector<GroupId> groups) const {
  Step step = isolation(std::move(source), std::move(ret), std::move(groups));
  step.kind = StepKind::isolation_by_current;
  step.limit = limits_.bridge;
  step.volts = Volts{0};
  return step;
}

Step StepMaker::resistance(Channel source, Channel ret) const {
  return make(StepKind::resistance, {source}, {ret});
}

Step& add_step(Plan& plan, Step step) {
  step.id = StepId{static_cast<std::uint32_t>(plan.steps.size() + 1)};
  return plan.steps.emplace_back(std::move(step));
}

}  // namespace isthmus::plan
