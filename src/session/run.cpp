// SPDX-License-Identifier: Apache-2.0
#include "session/run.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "session/leads.hpp"
#include "session/problems.hpp"

namespace isthmus::session {
namespace {

constexpr std::size_t kMostRounds = 50;  // of wanted steps in one placement

Result<Done> judge_voltage(const plan::Plan& plan, const plan::Step& step,
                           const plan::Outcome& outcome) {
  const auto* measured = std::get_if<plan::Measured>(&outcome);
  if (measured && std::fabs(measured->value) <= kMostBoardVolts) return Done{};
  const std::string hint =
      "take supply and batteries off the board, let its capacitors discharge, rinse and dry it, "
      "then start "
      "again";
  if (!measured)
    return because(Cause::bench, "SES-009",
                   "the adapter could not tell whether there is a voltage on the board", hint);
  return because(Cause::bench, "SES-007",
                 fmt::format("there are {:.2f} V of its own on the board (placement {}, channel {} "
                             "against channel {})",
                             measured->value, plan.placements[step.placement].name,
                             step.source.empty() ? 0 : step.source.front(),
                             step.ret.empty() ? 0 : step.ret.front()),
                 hint);
}

Outcome begun(record::RunId id, plan::Plan plan, const std::vector<plan::Reading>& carried,
              const Hooks& hooks) {
  Outcome out;
  out.run = id;
  out.plan = std::move(plan);
  out.plan.zeroed = hooks.zero.has_value();
  out.readings = carried;
  return out;
}

}  // namespace

Run::Run(const Setting& with, record::RunId id, plan::Plan plan,
         const std::vector<plan::Reading>& carried)
    : with_(with),
      out_(begun(id, std::move(plan), carried, with.hooks)),
      measurer_(with.instrument, measurer_setup()) {
  for (const plan::Reading& r : carried) measurer_.keep(write(r));
}

MeasurerSetup Run::measurer_setup() {
  MeasurerSetup setup;
  setup.wires = out_.plan.wires;
  setup.journal = this;
  setup.first_sequence = static_cast<std::uint32_t>(out_.readings.size());
  setup.interrupted = with_.hooks.interrupted;
  if (with_.hooks.zero) setup.correct = leads_off(*with_.hooks.zero, out_.plan);
  return setup;
}

void Run::placement_done(std::size_t placement) {
  measurer_.keep(with_.record.placement_done(out_.run, placement));
  ++out_.result.placements;
}

bool Run::lay(const plan::Placement& placement) {
  measurer_.keep(with_.record.flush(out_.run));  // a person may take an hour
  if (ended()) return false;
  ENSURE(with_.hooks.lay);
  measurer_.keep(with_.hooks.lay(placement));
  return !ended();
}

bool Run::same_adapter() {
  measurer_.keep(with_.instrument.still_the_same());
  return !ended();
}

void Run::place(std::size_t placement) {
  if (ended()) return;
  placement_ = placement;
  round_ = 0;
  if (!lay(out_.plan.placements[placement]) || !same_adapter()) return;
  measure_what_is_wanted(measurer_, *this);
  if (ended() || !same_adapter()) return;
  placement_done(placement);
}

std::vector<plan::Step> Run::next() {
  std::vector<plan::Step> steps;
  if (round_++ == 0) {
    std::ranges::copy_if(out_.plan.steps, std::back_inserter(steps),
                         [&](const plan::Step& s) { return s.placement == placement_; });
    return steps;
  }
  measurer_.keep(with_.record.flush(out_.run));
  if (ended() || round_ > kMostRounds + 1) return steps;
  steps = diagnose::wanted_steps(with_.board, out_.plan, out_.readings, placement_);
  if (steps.empty()) return steps;
  measurer_.keep(with_.record.add_steps(out_.run, steps));
  for (const plan::Step& step : steps) {
    ENSURE(step.placement == placement_ && index(step.id) == out_.plan.steps.size() + 1);
    out_.plan.steps.push_back(step);
  }
  return steps;
}

Result<Done> Run::take(const plan::Step& step, const plan::Reading& reading) {
  out_.readings.push_back(reading);
  if (with_.hooks.progress) {
    with_.hooks.progress(out_.readings.size(), out_.plan.steps.size(),
                         out_.plan.placements[step.placement].name);
  }
  if (step.kind != plan::StepKind::board_voltage) return Done{};
  return judge_voltage(out_.plan, step, reading.outcome);
}

// A record that cannot be written stops the run: unjournalled readings prove nothing later.
Result<Done> Run::write(const plan::Reading& reading) {
  return with_.record.add_reading(out_.run, reading);
}

Outcome Run::finish() && {
  const bool complete = !ended();
  // A switch that does not open after the last reading spoils no reading, but somebody must know.
  if (!measurer_.ending().link_failure) measurer_.keep(with_.instrument.open_all());
  out_.link_failure = measurer_.ending().link_failure;
  out_.stopped = measurer_.ending().stopped;
  record::RunResult& result = out_.result;
  result.seconds = measurer_.seconds();
  result.state = complete ? "done" : "broken off";
  if (out_.stopped) result.problem = out_.stopped->message;
  if (out_.link_failure) result.problem = out_.link_failure->message;
  result.measurements = out_.readings.size();
  result.diagnosis = diagnose::diagnose(with_.board, out_.plan, out_.readings, complete);
  // The contract: what broke off with the link is incomplete, with the findings so far.
  if (out_.link_failure) result.diagnosis.verdict = diagnose::Verdict::incomplete;
  if (auto kept = with_.record.finish(out_.run, result); !kept && !out_.stopped)
    out_.stopped = kept.problem();
  return std::move(out_);
}

}  // namespace isthmus::session
