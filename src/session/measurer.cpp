// SPDX-License-Identifier: Apache-2.0
#include "session/measurer.hpp"

#include <chrono>

#include "session/problems.hpp"
#include "session/requests.hpp"

namespace isthmus::session {
namespace {

using Clock = adapter::Clock;

constexpr std::size_t kMostInBatch = 128;  // between two looks at `interrupted`
constexpr double kLongestBatch = 0.5;      // s, about

bool is_voltage(const plan::Step& step) { return step.kind == plan::StepKind::board_voltage; }

}  // namespace

void Ending::note(Problem why) {
  auto& of_its_kind = why.cause == Cause::link ? link_failure : stopped;
  if (!of_its_kind) of_its_kind = std::move(why);
}

// Cuts the steps into batches: short enough to be interrupted, and none past a voltage not yet
// judged.
void Measurer::measure(std::span<const plan::Step> steps, const Arrived& arrived) {
  std::size_t begin = 0;
  double seconds = 0;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const bool full = i - begin == kMostInBatch || seconds > kLongestBatch;
    if (i > begin && (full || is_voltage(steps[i - 1]) != is_voltage(steps[i]))) {
      batch(steps.subspan(begin, i - begin), arrived);
      begin = i;
      seconds = 0;
    }
    for (const adapter::Request& r :
         requests_of(steps[i], setup_.wires, instrument_.capabilities()))
      seconds += seconds_for(r, instrument_.capabilities());
  }
  batch(steps.subspan(begin), arrived);
}

void Measurer::batch(std::span<const plan::Step> steps, const Arrived& arrived) {
  if (steps.empty() || ended()) return;
  if (setup_.interrupted && setup_.interrupted()) return end(stopped_on_request());
  std::vector<adapter::Request> requests;
  std::vector<const plan::Step*> of;  // by request
  std::uint32_t tag = instrument_.next_tag();
  for (const plan::Step& step : steps) {
    for (adapter::Request& request : requests_of(step, setup_.wires, instrument_.capabilities())) {
      request.tag = tag++;
      requests.push_back(std::move(request));
      of.push_back(&step);
    }
  }
  std::optional<adapter::Answer> first;  // of two for one step
  const auto begun = Clock::now();
  const auto done =
      instrument_.carry_out(requests, [&](std::size_t n, const adapter::Answer& answer) {
        if (n + 1 < of.size() && of[n + 1] == of[n]) {
          first = answer;
          return;
        }
        take(*of[n], first ? both(*of[n], answer, *first) : answer, requests[n], arrived);
        first.reset();
      });
  seconds_ += std::chrono::duration<double>(Clock::now() - begun).count();
  keep(done);
}

// One step's answer by four wires, and the one by two before it.
adapter::Answer Measurer::both(const plan::Step& step, const adapter::Answer& four_wire,
                               const adapter::Answer& two_wire) {
  if (step.kind == plan::StepKind::reference)
    return worse_of(four_wire, two_wire, step.limit.value);
  adapter::Answer answer = confirmed(four_wire, two_wire);
  if (!answer.over_range && !answer.none && !paths_.fits(two_wire.value, four_wire.value))
    answer.none = true;
  return answer;
}

void Measurer::take(const plan::Step& step, const adapter::Answer& answer,
                    const adapter::Request& request, const Arrived& arrived) {
  plan::Reading reading;
  reading.step = step.id;
  reading.sequence = sequence_++;
  reading.outcome = outcome_of(answer, request, instrument_.capabilities());
  reading.status = answer.status;
  if (setup_.correct) keep(setup_.correct(step, reading));
  if (setup_.journal) keep(setup_.journal->write(reading));
  if (setup_.contact) note_contact(step, reading);
  keep(arrived(step, reading));
}

void Measurer::note_contact(const plan::Step& step, const plan::Reading& reading) {
  if (step.kind != plan::StepKind::contact || step.expects_no_contact() ||
      std::holds_alternative<plan::NoReading>(reading.outcome))
    return;
  const auto* measured = std::get_if<plan::Measured>(&reading.outcome);
  const bool touches =
      measured && (step.by_check() ? measured->value > 0.5 : measured->value <= step.limit.value);
  const auto [known, fresh] = touching_.try_emplace({step.placement, step.tip()}, touches);
  if (!fresh && known->second == touches) return;
  known->second = touches;
  setup_.contact({step.placement, step.tip(), touches});
}

}  // namespace isthmus::session
