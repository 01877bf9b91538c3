// SPDX-License-Identifier: Apache-2.0
#include "session/resume.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "session/problems.hpp"

namespace isthmus::session {
namespace {

// Of the copper: 10 K (IEC 60028: 0.393 %/K), and tips that stand a little elsewhere.
constexpr double kShare = 0.05;
// Switches and leads, which two wires do not leave out. Common practice, no source.
constexpr double kTwoWireOhms = 1.0;

bool same_step(const plan::Step& a, const plan::Step& b) {
  const auto key = [](const plan::Step& s) {
    return std::tuple(s.id, s.placement, s.kind, s.source, s.ret, s.sense_high, s.sense_low,
                      s.reference, s.groups, s.points, s.limit.value, s.volts.value, s.block,
                      s.closing);
  };
  return key(a) == key(b);
}

bool same_tips(const plan::Placement& a, const plan::Placement& b) {
  return a.name == b.name && a.side == b.side &&
         std::ranges::equal(a.probes, b.probes, [](const plan::Probe& p, const plan::Probe& q) {
           return p.channel == q.channel && p.point == q.point && p.at == q.at &&
                  p.side == q.side && p.clip == q.clip;
         });
}

bool same_plan(const plan::Plan& stored, const plan::Plan& fresh) {
  const auto planned = std::ranges::find_if(stored.steps, &plan::Step::wanted);
  return stored.wires == fresh.wires &&
         std::ranges::equal(stored.placements, fresh.placements, same_tips) &&
         std::ranges::equal(stored.steps.begin(), planned, fresh.steps.begin(), fresh.steps.end(),
                            same_step);
}

// What a placement's readings rest on.
enum class Part { top, bottom, joins, gaps };

std::set<Part> rests_on(const expect::Board& board, const plan::Plan& plan, std::size_t placement) {
  std::set<Part> parts;
  for (const plan::Probe& p : plan.placements[placement].probes)
    parts.insert(p.side == Side::bottom ? Part::bottom : Part::top);
  for (const plan::Step& s : plan.steps) {
    if (s.placement != placement) continue;
    if (s.kind == plan::StepKind::isolation) parts.insert(Part::gaps);
    if (s.kind != plan::StepKind::continuity) continue;
    for (const GroupId g : s.groups) {
      if (board.expectation.group(g).islands.size() > 1) parts.insert(Part::joins);
    }
  }
  return parts;
}

// By step, the first reading that says something.
std::map<StepId, plan::Outcome> first_of(const plan::Plan& plan,
                                         std::span<const plan::Reading> readings) {
  std::map<StepId, plan::Outcome> first;
  for (const plan::Reading& r : readings) {
    const plan::Step& step = plan.step(r.step);
    const bool speaks = step.is_resistance() || step.kind == plan::StepKind::isolation;
    if (!speaks || step.wanted || std::holds_alternative<plan::NoReading>(r.outcome)) continue;
    first.try_emplace(r.step, r.outcome);
  }
  return first;
}

bool conducts(const plan::Outcome& o, Ohms limit) {
  const auto* m = std::get_if<plan::Measured>(&o);
  return m && m->value < limit.value;
}

std::size_t conducting(const plan::Plan& plan, std::span<const plan::Reading> readings) {
  std::size_t count = 0;
  for (const auto& [id, outcome] : first_of(plan, readings)) {
    const plan::Step& step = plan.step(id);
    if (step.is_resistance() && conducts(outcome, step.limit)) ++count;
  }
  return count;
}

// Both tips stand in each reading, and touch anew at each laying.
bool agree(const plan::Measured& then, const plan::Measured& now, const plan::Plan& plan) {
  const double noise = 3 * std::hypot(then.uncertainty, now.uncertainty);
  const double tips = 2 * plan.contact.value * (1 + plan.contact_spread);
  const double switches = plan.wires == 2 ? kTwoWireOhms : 0;
  return std::fabs(now.value - then.value) <=
         noise + kShare * std::fabs(then.value) + tips + switches;
}

}  // namespace

Result<Carried> carried_from(const expect::Board& board, const record::StoredRun& broken,
                             const plan::Plan& plan) {
  if (!same_plan(broken.plan, plan)) {
    return because(
        Cause::input, "SES-011",
        fmt::format("run {} was made from another plan (another program version or adapter?)",
                    broken.head.id),
        "measure the board anew, without --resume");
  }
  Carried out;
  out.plan = broken.plan;
  out.plan.tip = plan.tip;
  std::vector<std::vector<plan::Reading>> of(out.plan.placements.size());
  for (const plan::Reading& r : broken.readings) of[out.plan.step(r.step).placement].push_back(r);
  std::vector<std::size_t> finished = broken.placements_done;
  std::ranges::sort(finished);
  std::set<Part> compared;
  const auto repeat = [&](std::size_t placement) {
    out.again.push_back(placement);
    compared.merge(rests_on(board, out.plan, placement));
    out.to_repeat.insert(out.to_repeat.end(), of[placement].begin(), of[placement].end());
  };
  for (std::size_t i = 0; i < of.size(); ++i) {
    if (!of[i].empty() && !std::ranges::binary_search(finished, i)) repeat(i);
  }
  const auto rests_on_more = [&](std::size_t p) {
    return !std::ranges::includes(compared, rests_on(board, out.plan, p));
  };
  while (!finished.empty()) {
    auto next = std::find_if(finished.rbegin(), finished.rend(), rests_on_more);
    if (next == finished.rend()) {
      if (conducting(out.plan, out.to_repeat) >= kFingerprint) break;
      next = finished.rbegin();
    }
    repeat(*next);
    finished.erase(std::next(next).base());
  }
  out.placements = finished;
  for (const plan::Reading& r : broken.readings) {
    if (!std::ranges::binary_search(finished, out.plan.step(r.step).placement)) continue;
    out.readings.push_back(r);
    out.readings.back().sequence = static_cast<std::uint32_t>(out.readings.size() - 1);
  }
  return out;
}

Agreement compare(const plan::Plan& plan, std::span<const plan::Reading> then,
                  std::span<const plan::Reading> now) {
  const auto before = first_of(plan, then), after = first_of(plan, now);
  Agreement out;
  for (const auto& [id, old] : before) {
    const auto found = after.find(id);
    if (found == after.end()) continue;
    ++out.compared;
    const plan::Step& step = plan.step(id);
    const bool conducted = conducts(old, step.limit);
    if (conducted && step.is_resistance()) ++out.resistances;
    const bool same =
        conducted == conducts(found->second, step.limit) &&
        (!conducted || !step.is_resistance() ||
         agree(std::get<plan::Measured>(old), std::get<plan::Measured>(found->second), plan));
    if (!same) ++out.differing;
  }
  return out;
}

}  // namespace isthmus::session
