// SPDX-License-Identifier: Apache-2.0
#include "session/run.hpp"

#include <fmt/format.h>

#include <map>
#include <span>

#include "session/air.hpp"
#include "session/leads.hpp"
#include "session/outcome.hpp"
#include "session/problems.hpp"
#include "session/voltage.hpp"

namespace isthmus::session {
namespace {

constexpr std::size_t kMostRounds = 50;  // of wanted steps in one placement

plan::Plan as_measured(plan::Plan plan, const Hooks& hooks) {
  plan.zeroed = hooks.zero.has_value();
  for (plan::Placement& p : plan.placements)
    p.tried_in_air = p.tried_in_air || (hooks.zero && hooks.zero->in_air.contains(p.name));
  return plan;
}

}  // namespace

Run::Run(const Setting& with, record::RunId id, plan::Plan plan,
         const std::vector<plan::Reading>& carried)
    : with_(with),
      id_(id),
      knowledge_(with.board, as_measured(std::move(plan), with.hooks)),
      predictions_(with.board),
      measurer_(with.instrument, measurer_setup(carried.size())) {
  for (std::size_t i = 0; with.hooks.zero && i < knowledge_.plan().placements.size(); ++i) {
    if (knowledge_.plan().placements[i].tried_in_air)
      measurer_.keep(with_.record.tried_in_air(id_, i));
  }
  for (const plan::Reading& r : carried) {
    measurer_.keep(write(r));
    knowledge_.take(r);
  }
}

MeasurerSetup Run::measurer_setup(std::size_t carried) {
  MeasurerSetup setup;
  setup.wires = knowledge_.plan().wires;
  setup.journal = this;
  setup.first_sequence = static_cast<std::uint32_t>(carried);
  setup.interrupted = with_.hooks.interrupted;
  if (with_.hooks.zero) setup.correct = leads_off(*with_.hooks.zero, knowledge_.plan());
  return setup;
}

void Run::placement_done(std::size_t placement) {
  measurer_.keep(with_.record.placement_done(id_, placement));
  ++placements_;
}

// What its steps should measure is calculated while somebody lays the probes, so that no reading
// waits for it.
bool Run::lay(std::size_t placement) {
  measurer_.keep(with_.record.flush(id_));  // a person may take an hour
  if (ended()) return false;
  ENSURE(with_.hooks.lay);
  const auto meanwhile = [&] { predict(placement); };
  measurer_.keep(with_.hooks.lay(knowledge_.plan().placements[placement], meanwhile));
  if (!ended()) meanwhile();  // where there was no while, now; else nothing is left of it
  return !ended();
}

// Wires, tips and the contact check, before anything lies under them.
void Run::try_in_air(std::size_t placement) {
  const plan::Plan& plan = knowledge_.plan();
  // What a zero tried some hours ago is tried again where that costs nobody anything.
  const bool simulated = with_.instrument.capabilities().simulated;
  const bool done = plan.placements[placement].tried_in_air && (!simulated || lifted_);
  if (!with_.hooks.lift || done) return;
  const auto lifted = with_.hooks.lift(plan.placements[placement]);
  if (!lifted) return measurer_.end(lifted.problem());
  if (*lifted == Lifted::none) return;
  lifted_ = true;
  std::vector<std::size_t> tried;
  Hanging all;
  std::map<plan::Channel, std::string> names;
  for (std::size_t i = 0; i < plan.placements.size(); ++i) {
    if (i != placement && *lifted != Lifted::all) continue;
    tried.push_back(i);
    add(all, hanging(with_.board, plan, i));
  }
  for (const plan::Probe& p : plan.placements[placement].probes)
    names[p.channel] = with_.board.expectation.point(p.point).id;
  const auto name = [&](plan::Channel c) {
    const auto known = names.find(c);
    return known == names.end() ? std::to_string(c) : fmt::format("{} ({})", c, known->second);
  };
  MeasurerSetup setup;
  setup.wires = plan.wires;
  setup.interrupted = with_.hooks.interrupted;
  measurer_.keep(session::try_in_air(with_.instrument, setup, std::move(all), name));
  for (const std::size_t i : tried) {
    if (!ended()) in_air(i);
  }
}

void Run::in_air(std::size_t placement) {
  knowledge_.tried_in_air(placement);
  measurer_.keep(with_.record.tried_in_air(id_, placement));
}

void Run::predict(std::size_t placement) {
  const auto told = knowledge_.predict(placement, predictions_, with_.hooks.interrupted);
  if (told.empty()) return;
  measurer_.keep(with_.record.add_predictions(id_, told));
  measurer_.keep(with_.record.flush(id_));  // the person may still be at it
}

bool Run::same_adapter() {
  measurer_.keep(with_.instrument.still_the_same());
  return !ended();
}

void Run::place(std::size_t placement) {
  if (ended()) return;
  placement_ = placement;
  rounds_ = 0;
  try_in_air(placement);
  if (ended() || !lay(placement) || !same_adapter()) return;
  measure_what_is_wanted(measurer_, *this);
  if (ended() || !same_adapter()) return;
  placement_done(placement);
}

std::vector<plan::Step> Run::next() {
  const std::vector<plan::Step>& all = knowledge_.plan().steps;
  const std::size_t known = all.size();
  std::vector<plan::Step> steps = knowledge_.next(placement_);
  if (all.size() > known) {
    const auto added = std::span(all).subspan(known);
    measurer_.keep(with_.record.add_steps(id_, {added.begin(), added.end()}));
  }
  if (steps.empty() || steps.front().wanted) measurer_.keep(with_.record.flush(id_));
  if (all.size() > known && ++rounds_ > kMostRounds) return {};
  return steps;
}

Result<Done> Run::take(const plan::Step& step, const plan::Reading& reading) {
  knowledge_.take(reading);
  const plan::Plan& plan = knowledge_.plan();
  if (with_.hooks.progress) {
    with_.hooks.progress(knowledge_.readings().size(), plan.steps.size(),
                         plan.placements[step.placement].name);
  }
  if (step.kind != plan::StepKind::board_voltage) return Done{};
  return judge_voltage(plan, step, reading.outcome);
}

// A record that cannot be written stops the run: unjournalled readings prove nothing later.
Result<Done> Run::write(const plan::Reading& reading) {
  return with_.record.add_reading(id_, reading);
}

Outcome Run::finish() {
  const bool complete = !ended();
  // A switch that does not open after the last reading spoils no reading, but somebody must know.
  if (!measurer_.ending().link_failure) measurer_.keep(with_.instrument.open_all());
  return close_run(with_.record, {id_, placements_, complete}, knowledge_, measurer_);
}

}  // namespace isthmus::session
