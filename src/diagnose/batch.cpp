// SPDX-License-Identifier: Apache-2.0
#include "diagnose/batch.hpp"

#include <algorithm>

#include "diagnose/wires.hpp"

namespace isthmus::diagnose {
namespace {

using plan::Step;
using plan::StepKind;

constexpr std::size_t kMostAsked = 3;

}  // namespace

Batch::Batch(const SoFar& so_far, std::size_t placement)
    : so_far_(so_far),
      placement_(so_far.plan.placements[placement]),
      index_(placement),
      make_(so_far.board.design.board.limits, so_far.plan.contact_check, placement) {
  make_.block(so_far.asked.last_block() + 1);
}

void Batch::add(Step step) {
  if (so_far_.asked.times(step) < kMostAsked) body_.push_back(std::move(step));
}

// A tip is proven as the plan does it: by the adapter's check, by its twin, or by conducting to a
// fellow.
void Batch::prove(Channel c, std::vector<Step>& into) const {
  const plan::Probe& p = placement_.probe(c);
  const auto push = [&](Step step) {
    step.closing = true;
    into.push_back(std::move(step));
  };
  auto by_row1 = make_.contact(p, true), by_row2 = make_.contact(p, false);
  if (by_row1 && by_row2) {
    push(std::move(*by_row1));
    push(std::move(*by_row2));
    return;
  }
  for (const auto& [pair, heard] : so_far_.evidence.heard(index_)) {
    if (!heard.conducts() || (pair.first != c && pair.second != c)) continue;
    const plan::Probe& fellow = placement_.probe(pair.first == c ? pair.second : pair.first);
    push(make_.continuity(p, fellow, {}, heard.predicted));
    push(make_.continuity(fellow, p, {}, heard.predicted));
    return;
  }
}

void Batch::contact(Channel c) {
  std::vector<Step> steps;
  prove(c, steps);
  for (Step& s : steps) {
    if (s.kind == StepKind::contact) add(std::move(s));
  }
}

void Batch::continuity(Channel a, Channel b, GroupId group,
                       std::optional<copper::Predicted> predicted) {
  const auto tip = [&](Channel c) {
    plan::Probe probe = *probe_on(placement_, c);
    probe.channel = c;
    return probe;
  };
  add(make_.continuity(tip(a), tip(b), {group}, predicted));
}

std::vector<GroupId> Batch::groups_of(const Question& q) const {
  std::vector<GroupId> groups;
  for (const Channels* side : {&q.source, &q.ret}) {
    for (Channel c : *side) {
      if (const auto& g = so_far_.board.expectation.point(placement_.probe(c).point).group)
        groups.push_back(*g);
    }
  }
  return groups;
}

// Its contacts are proven around it.
void Batch::isolation_by_current(const Question& q) {
  Step step = make_.isolation_by_current(q.source, q.ret, groups_of(q));
  if (so_far_.asked.times(step) >= kMostAsked) return;
  for (const Channels* side : {&q.source, &q.ret}) proven_.insert(side->begin(), side->end());
  body_.push_back(std::move(step));
}

void Batch::isolation(const Question& q) {
  Step step = make_.isolation(q.source, q.ret, groups_of(q));
  if (so_far_.asked.times(step) >= kMostAsked) return;
  // What the switches leak by themselves, with the same channels closed.
  if (q.source.size() + q.ret.size() <= 2) {
    body_.push_back(make_.open_on_row_1(q.source, step.volts));
    body_.push_back(make_.open_on_row_2(q.ret, step.volts));
  }
  isolated_.insert(q.source.begin(), q.source.end());
  isolated_.insert(q.ret.begin(), q.ret.end());
  questions_.push_back(q);
  body_.push_back(std::move(step));
}

// As the plan does it: each switch of the question with the others closed, unless it was proven so.
void Batch::load(const Question& q, std::vector<Step>& into) const {
  const Volts volts = so_far_.board.design.board.limits.voltage;
  Channels all = q.source;
  all.insert(all.end(), q.ret.begin(), q.ret.end());
  const auto one = [&](int row, Channel c) {
    if (so_far_.evidence.holds_under_load(index_, row, c, all.size())) return;
    const auto partner = so_far_.evidence.partner(index_, c);
    if (!partner) return;  // a clip: other landings of its round tell
    Channels others = all;
    std::erase(others, c);
    std::erase(others, *partner);
    into.push_back(row == 1 ? make_.loaded_on_row_1(c, *partner, std::move(others), volts)
                            : make_.loaded_on_row_2(c, *partner, std::move(others), volts));
  };
  for (const Channel c : q.source) one(1, c);
  for (const Channel c : q.ret) one(2, c);
}

// As in the plan's blocks.
void Batch::check_says_no(std::vector<Step>& into) const {
  for (const std::size_t i : so_far_.asked.in_placement(index_)) {
    const Step& s = so_far_.plan.steps[i];
    if (!s.expects_no_contact()) continue;
    into.push_back(make_.no_contact(s.tip(), true));
    into.push_back(make_.no_contact(s.tip(), false));
    return;
  }
}

void Batch::controls(Volts volts, std::vector<Step>& into) const {
  Channels all;
  for (const plan::Probe& p : placement_.probes) all.push_back(p.channel);
  into.push_back(make_.open_on_row_1(all, volts));
  into.push_back(make_.open_on_row_2(all, volts));
  check_says_no(into);
  for (const auto& [pair, heard] : so_far_.evidence.heard(index_)) {
    if (heard.conducts())
      return into.push_back(make_.control_short(pair.first, pair.second, volts));
  }
  for (const plan::Probe& p : placement_.probes) {
    if (p.twin && so_far_.evidence.touch(index_, p.channel) == Touch::proven)
      return into.push_back(make_.control_short(p.channel, *p.twin, volts));
  }
  for (const auto& [number, nominal] : so_far_.asked.references())
    into.push_back(make_.reference(number, nominal, volts));
}

std::vector<Step> Batch::finish() {
  if (body_.empty()) return {};
  const bool high_ohms = !isolated_.empty();
  const Volts volts = high_ohms ? so_far_.board.design.board.limits.voltage : Volts{0};
  std::vector<Step> all;
  controls(volts, all);
  if (high_ohms) {
    controls(Volts{0}, all);
    proven_.insert(isolated_.begin(), isolated_.end());
  }
  for (Channel c : proven_) prove(c, all);
  for (Step& s : body_) all.push_back(std::move(s));
  for (const Question& q : questions_) load(q, all);
  for (Channel c : proven_) prove(c, all);
  controls(volts, all);
  for (Step& s : all) s.wanted = true;
  return all;
}

}  // namespace isthmus::diagnose
