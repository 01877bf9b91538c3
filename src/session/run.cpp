// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cmath>

#include "isthmus/session/session.hpp"
#include "session/requests.hpp"
#include "session/resume.hpp"

namespace isthmus::session {
namespace {

using Clock = adapter::Clock;

// 0.1 V drives less through a 10 ohm board than the source itself, and hurts no part on it; common
// practice, no source.
constexpr double kMostBoardVolts = 0.1;
constexpr std::size_t kMostRounds = 50;    // of wanted steps in one placement
constexpr std::size_t kMostInBatch = 128;  // between two looks at `interrupted`
constexpr double kLongestBatch = 0.5;      // s, about

Problem stopping(Cause cause, std::string code, std::string message, std::string hint) {
  Problem p;
  p.cause = cause;
  p.code = std::move(code);
  p.message = std::move(message);
  p.hint = std::move(hint);
  return p;
}

class Run {
 public:
  Run(const expect::Board& board, adapter::Instrument& instrument, record::Record& record,
      const Hooks& hooks)
      : board_(board), instrument_(instrument), record_(record), hooks_(hooks) {}

  Result<Outcome> carry_out(plan::Plan plan, const record::RunHead& head);
  // The outcome's state is "broken off" and `disagrees` true where the board is not as it was.
  Result<Outcome> carry_on(Carried carried, record::RunId from, record::RunHead head,
                           bool& disagrees);

 private:
  [[nodiscard]] bool ended() const { return out_.link_failure || out_.stopped; }
  void stop(Problem why) {
    if (!out_.stopped) out_.stopped = std::move(why);
  }
  // A record that cannot be written stops the run: unjournalled readings prove nothing later.
  void keep(const Result<Done>& written) {
    if (!written) stop(written.problem());
  }
  bool begin(plan::Plan plan, const record::RunHead& head);
  void take_over(const std::vector<plan::Reading>& readings);
  void place(std::size_t placement);
  bool lay(const plan::Placement& placement);
  bool same_adapter();
  void measure(const std::vector<std::size_t>& steps);
  void measure_batch(const std::vector<std::size_t>& steps);
  void arrived(const plan::Step& step, const adapter::Answer& answer,
               const adapter::Request& request);
  void judge_voltage(const plan::Step& step, const plan::Outcome& outcome);
  void take_zero_off(const plan::Step& step, plan::Reading& reading);
  std::vector<std::size_t> add_wanted(std::size_t placement);
  void finish();

  const expect::Board& board_;
  adapter::Instrument& instrument_;
  record::Record& record_;
  const Hooks& hooks_;
  Outcome out_;
  std::optional<Problem> no_record_;
};

bool Run::begin(plan::Plan plan, const record::RunHead& head) {
  auto run = record_.begin(head, plan);
  if (!run) {
    no_record_ = run.problem();
    return false;
  }
  out_.run = run.value();
  out_.remarks = head.remarks;
  out_.plan = std::move(plan);
  out_.plan.zeroed = hooks_.zero.has_value();
  return true;
}

Result<Outcome> Run::carry_out(plan::Plan plan, const record::RunHead& head) {
  if (!begin(std::move(plan), head)) return *no_record_;
  for (std::size_t i = 0; i < out_.plan.placements.size() && !ended(); ++i) place(i);
  finish();
  return std::move(out_);
}

void Run::take_over(const std::vector<plan::Reading>& readings) {
  for (const plan::Reading& r : readings) keep(record_.add_reading(out_.run, r));
  out_.readings = readings;
}

Result<Outcome> Run::carry_on(Carried carried, record::RunId from, record::RunHead head,
                              bool& disagrees) {
  Resumed resumed{from, {}, {}, 0, 0, 0};
  for (const std::size_t i : carried.placements)
    resumed.carried.push_back(carried.plan.placements[i].name);
  for (const std::size_t i : carried.again)
    resumed.again.push_back(carried.plan.placements[i].name);
  if (!resumed.carried.empty())
    head.remarks.push_back(fmt::format("continues run {}: placement {} carried over from it", from,
                                       fmt::join(resumed.carried, ", ")));
  if (!begin(std::move(carried.plan), head)) return *no_record_;
  take_over(carried.readings);
  for (const std::size_t i : carried.placements) keep(record_.placement_done(out_.run, i));
  out_.result.placements = carried.placements.size();
  std::vector<bool> seen(out_.plan.placements.size());
  for (const std::size_t i : carried.placements) seen[i] = true;
  for (const std::size_t i : carried.again) {
    seen[i] = true;
    if (!ended()) place(i);
  }
  const std::span<const plan::Reading> now =
      std::span(out_.readings).subspan(carried.readings.size());
  const Agreement agreement = compare(out_.plan, carried.to_repeat, now);
  resumed.compared = agreement.compared;
  resumed.differing = agreement.differing;
  resumed.resistances = agreement.resistances;
  disagrees = !ended() && !carried.placements.empty() && !agreement.holds();
  if (disagrees)
    stop(stopping(
        Cause::bench, "SES-012",
        (agreement.differing > 0 ? "the board does not read as in run "
                                 : "too few readings could be compared with those of run ") +
            std::to_string(from),
        ""));
  for (std::size_t i = 0; i < seen.size() && !ended(); ++i) {
    if (!seen[i]) place(i);
  }
  finish();
  out_.resumed = std::move(resumed);
  return std::move(out_);
}

bool Run::lay(const plan::Placement& placement) {
  keep(record_.flush(out_.run));  // a person may take an hour
  if (ended()) return false;
  ENSURE(hooks_.lay);
  const auto laid = hooks_.lay(placement);
  if (laid) return true;
  // The cli's hook for simulators speaks through the instrument.
  if (laid.problem().cause == Cause::link)
    out_.link_failure = laid.problem();
  else
    stop(laid.problem());
  return false;
}

bool Run::same_adapter() {
  if (auto same = instrument_.still_the_same(); !same) out_.link_failure = same.problem();
  return !out_.link_failure;
}

void Run::place(std::size_t placement) {
  std::vector<std::size_t> steps;
  for (std::size_t i = 0; i < out_.plan.steps.size(); ++i) {
    if (out_.plan.steps[i].placement == placement) steps.push_back(i);
  }
  if (!lay(out_.plan.placements[placement]) || !same_adapter()) return;
  for (std::size_t round = 0; round <= kMostRounds && !steps.empty(); ++round) {
    measure(steps);
    if (ended()) return;
    steps = add_wanted(placement);
  }
  if (ended() || !same_adapter()) return;
  keep(record_.placement_done(out_.run, placement));
  ++out_.result.placements;
}

std::vector<std::size_t> Run::add_wanted(std::size_t placement) {
  const auto wanted = diagnose::wanted_steps(board_, out_.plan, out_.readings, placement);
  std::vector<std::size_t> added;
  if (wanted.empty()) return added;
  keep(record_.add_steps(out_.run, wanted));
  for (const plan::Step& step : wanted) {
    ENSURE(step.placement == placement && index(step.id) == out_.plan.steps.size() + 1);
    added.push_back(out_.plan.steps.size());
    out_.plan.steps.push_back(step);
  }
  return added;
}

// Cuts the steps into batches: short enough to be interrupted, and none past a voltage not yet
// judged.
void Run::measure(const std::vector<std::size_t>& steps) {
  std::vector<std::size_t> batch;
  double seconds = 0;
  const auto carry_out_batch = [&] {
    if (!batch.empty() && !ended()) measure_batch(batch);
    batch.clear();
    seconds = 0;
  };
  const auto is_voltage = [&](std::size_t i) {
    return out_.plan.steps[i].kind == plan::StepKind::board_voltage;
  };
  for (const std::size_t i : steps) {
    const auto requests =
        requests_of(out_.plan.steps[i], out_.plan.wires, instrument_.capabilities());
    const bool full = batch.size() == kMostInBatch || seconds > kLongestBatch;
    if (!batch.empty() && (full || is_voltage(batch.back()) != is_voltage(i))) carry_out_batch();
    batch.push_back(i);
    for (const adapter::Request& request : requests)
      seconds += seconds_for(request, instrument_.capabilities());
  }
  carry_out_batch();
  keep(record_.flush(out_.run));
}

void Run::measure_batch(const std::vector<std::size_t>& steps) {
  if (hooks_.interrupted && hooks_.interrupted()) {
    return stop(stopping(Cause::interrupted, "SES-008", "stopped on request", "start again"));
  }
  std::vector<adapter::Request> requests;
  std::vector<std::size_t> of_step;  // by request
  std::uint32_t tag = instrument_.next_tag();
  for (const std::size_t i : steps) {
    for (adapter::Request& request :
         requests_of(out_.plan.steps[i], out_.plan.wires, instrument_.capabilities())) {
      request.tag = tag++;
      requests.push_back(std::move(request));
      of_step.push_back(i);
    }
  }
  std::optional<adapter::Answer> first;  // of two for one step
  const auto begun = Clock::now();
  const auto done = instrument_.carry_out(requests, [&](std::size_t n,
                                                        const adapter::Answer& answer) {
    if (n + 1 < of_step.size() && of_step[n + 1] == of_step[n]) {
      first = answer;
      return;
    }
    arrived(out_.plan.steps[of_step[n]], first ? confirmed(answer, *first) : answer, requests[n]);
    first.reset();
  });
  out_.result.seconds += std::chrono::duration<double>(Clock::now() - begun).count();
  if (!done) out_.link_failure = done.problem();
}

void Run::arrived(const plan::Step& step, const adapter::Answer& answer,
                  const adapter::Request& request) {
  plan::Reading reading;
  reading.step = step.id;
  reading.sequence = static_cast<std::uint32_t>(out_.readings.size());
  reading.outcome = outcome_of(answer, request, instrument_.capabilities());
  reading.status = answer.status;
  if (hooks_.zero) take_zero_off(step, reading);
  keep(record_.add_reading(out_.run, reading));
  if (step.kind == plan::StepKind::board_voltage) judge_voltage(step, reading.outcome);
  out_.readings.push_back(std::move(reading));
  if (hooks_.progress) {
    hooks_.progress(out_.readings.size(), out_.plan.steps.size(),
                    out_.plan.placements[step.placement].name);
  }
}

void Run::take_zero_off(const plan::Step& step, plan::Reading& reading) {
  auto* measured = std::get_if<plan::Measured>(&reading.outcome);
  const bool ohms =
      step.kind == plan::StepKind::continuity || step.kind == plan::StepKind::resistance;
  if (!ohms || !measured) return;
  const plan::Plan& plan = out_.plan;
  const auto zero = ohms_of(*hooks_.zero, plan.placements[step.placement].name, step.source.at(0),
                            step.ret.at(0));
  ENSURE(zero);  // run_test looked
  *measured = zeroed(*measured, *zero, *hooks_.zero, plan.contact);
  if (!voids(*measured, plan.contact, plan.contact_spread)) return;
  stop(stopping(Cause::bench, "SES-030",
                fmt::format("channels {} and {} read {:.3f} ohm less than nothing with their zero "
                            "taken off: it no longer holds",
                            step.source[0], step.ret[0], -measured->value),
                "take the zero anew (isthmus zero), or test without --zero"));
}

void Run::judge_voltage(const plan::Step& step, const plan::Outcome& outcome) {
  const auto* measured = std::get_if<plan::Measured>(&outcome);
  if (measured && std::fabs(measured->value) <= kMostBoardVolts) return;
  const std::string hint =
      "take supply and batteries off the board, let its capacitors discharge, rinse and dry it, "
      "then start "
      "again";
  if (measured) {
    return stop(
        stopping(Cause::bench, "SES-007",
                 fmt::format("there are {:.2f} V of its own on the board (placement {}, channel {} "
                             "against channel {})",
                             measured->value, out_.plan.placements[step.placement].name,
                             step.source.empty() ? 0 : step.source.front(),
                             step.ret.empty() ? 0 : step.ret.front()),
                 hint));
  }
  stop(stopping(Cause::bench, "SES-009",
                "the adapter could not tell whether there is a voltage on the board", hint));
}

void Run::finish() {
  record::RunResult& result = out_.result;
  const bool complete = !ended();
  if (!out_.link_failure) {
    // A switch that does not open after the last reading spoils no reading, but somebody must know.
    if (auto opened = instrument_.open_all(); !opened) out_.link_failure = opened.problem();
  }
  result.state = complete ? "done" : "broken off";
  if (out_.stopped) result.problem = out_.stopped->message;
  if (out_.link_failure) result.problem = out_.link_failure->message;
  result.measurements = out_.readings.size();
  result.diagnosis = diagnose::diagnose(board_, out_.plan, out_.readings, complete);
  // The contract: what broke off with the link is incomplete, with the findings so far.
  if (out_.link_failure) result.diagnosis.verdict = diagnose::Verdict::incomplete;
  keep(record_.finish(out_.run, result));
}

std::string why_not(const Resumed& r) {
  if (r.differing > 0)
    return fmt::format("{} of {} repeated readings differ", r.differing, r.compared);
  return fmt::format("only {} resistances could be compared, of the {} that it takes",
                     r.resistances, kFingerprint);
}

}  // namespace

Result<Outcome> run_test(const expect::Board& board, plan::Plan plan,
                         adapter::Instrument& instrument, record::Record& record,
                         const record::RunHead& head, const Hooks& hooks) {
  if (auto fits = check_means(plan, instrument.capabilities()); !fits) return fits.problem();
  if (auto fits = check_zero(plan, hooks.zero); !fits) return fits.problem();
  return Run(board, instrument, record, hooks).carry_out(std::move(plan), head);
}

Result<Outcome> resume_test(const expect::Board& board, plan::Plan plan,
                            const record::StoredRun& broken, adapter::Instrument& instrument,
                            record::Record& record, record::RunHead head, const Hooks& hooks) {
  if (auto fits = check_means(plan, instrument.capabilities()); !fits) return fits.problem();
  if (auto fits = check_zero(plan, hooks.zero); !fits) return fits.problem();
  auto carried = carried_from(broken, plan);
  if (!carried) return carried.problem();
  bool disagrees = false;
  auto first = Run(board, instrument, record, hooks)
                   .carry_on(std::move(*carried), broken.head.id, head, disagrees);
  if (!first || !disagrees) return first;
  head.remarks.push_back(fmt::format("run {} was not continued: {}; everything was measured anew",
                                     broken.head.id, why_not(*first->resumed)));
  auto whole = Run(board, instrument, record, hooks).carry_out(std::move(plan), head);
  if (whole) {
    whole->resumed = std::move(first->resumed);
    whole->resumed->carried.clear();
  }
  return whole;
}

}  // namespace isthmus::session
