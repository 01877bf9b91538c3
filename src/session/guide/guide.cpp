// SPDX-License-Identifier: Apache-2.0
#include "isthmus/session/guide.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "session/guide/driver.hpp"
#include "session/problems.hpp"

namespace isthmus::session {
namespace {

// At a needle in the hand; docs/guide.md, Safety (bench practice, no source).
constexpr double kMostVolts = 10, kMostAmps = 1e-3;

plan::Channel highest(const plan::HandPlan& plan) {
  plan::Channel most = 0;
  for (const plan::Round& r : plan.rounds) {
    for (const plan::HandClip& c : r.clips) most = std::max(most, c.channel);
    for (const plan::Needle& n : r.needles) most = std::max({most, n.channel, n.fork.value_or(0)});
  }
  return most;
}

Result<Done> check(const expect::Board& board, const plan::HandPlan& plan, bool contact_check,
                   const adapter::Capabilities& can) {
  const formats::LimitKeys& limits = board.design.board.limits;
  if (limits.voltage.value > kMostVolts)
    return because(Cause::input, "HND-011",
                   fmt::format("the test voltage is {:G} V; at a needle held in the hand it is at "
                               "most {:G} V",
                               limits.voltage.value, kMostVolts),
                   "set limits: {voltage: 10 V} in board.yaml");
  // Through a range resistor of a tenth of the limit: docs/adapter.md.
  if (limits.voltage.value / (limits.isolation.value / 10) > kMostAmps)
    return because(Cause::input, "HND-012",
                   fmt::format("with an isolation limit of {:G} ohm the test voltage could drive "
                               "more than 1 mA through a needle held in the hand",
                               limits.isolation.value),
                   "raise limits: isolation, or lower limits: voltage");
  if (highest(plan) > can.channels)
    return because(Cause::input, "HND-013",
                   fmt::format("clips and needles use channel {}; the adapter has {}",
                               highest(plan), can.channels),
                   fmt::format("plan for it: --channels {}", can.channels));
  if (limits.voltage.value > can.voltage_v)
    return because(Cause::input, "SES-004",
                   fmt::format("the test voltage is {:G} V; the adapter gives at most {:G} V",
                               limits.voltage.value, can.voltage_v),
                   fmt::format("set limits: {{voltage: {:G} V}} in board.yaml", can.voltage_v));
  if (contact_check && !can.contact_check)
    return because(Cause::input, "SES-003",
                   "the plan relies on a contact check; the adapter has none",
                   "plan without --contact-check");
  return Done{};
}

plan::Plan empty_plan(const expect::Board& board, bool contact_check,
                      const adapter::Capabilities& can) {
  plan::Plan plan;
  plan.contact_check = contact_check;
  plan.wires = can.wires;
  plan.tip = Nanometres{100'000};
  plan.pairs = board.expectation.pairs.size();
  plan.pairs_beyond_window = board.expectation.pairs_beyond_window;
  plan.bound_reason = "by hand";
  return plan;
}

}  // namespace

std::optional<Answer> parse_answer(std::string_view text) {
  using Kind = Answer::Kind;
  constexpr std::array<std::pair<std::string_view, Kind>, 7> kWords{
      {{"done", Kind::done},
       {"again", Kind::again},
       {"cannot-reach", Kind::cannot_reach},
       {"undo", Kind::undo},
       {"pause", Kind::pause},
       {"resume", Kind::resume},
       {"quit", Kind::quit}}};
  for (const auto& [word, kind] : kWords) {
    if (text == word) return Answer{kind, ""};
  }
  if (text == "mended") return Answer{Kind::mended, ""};
  if (text.starts_with("mended ")) return Answer{Kind::mended, std::string(text.substr(7))};
  if (text == "skip") return Answer{Kind::skip, ""};
  if (text.starts_with("skip ")) return Answer{Kind::skip, std::string(text.substr(5))};
  return std::nullopt;
}

Result<Outcome> guide(const expect::Board& board, const GuideJob& job,
                      adapter::Instrument& instrument, record::Record& record,
                      const record::RunHead& head, const GuideHooks& hooks) {
  const plan::HandPlan& plan = job.plan;
  if (auto fits = check(board, plan, job.contact_check, instrument.capabilities()); !fits)
    return fits.problem();
  plan::Plan first = empty_plan(board, job.contact_check, instrument.capabilities());
  if (job.broken) {
    const Nanometres tip = first.tip;
    first = job.broken->plan;
    first.tip = tip;
  }
  const auto id = record.begin(head, first);
  if (!id) return id.problem();
  const HandRun::With with{board, instrument, record, *id, hooks.interrupted};
  HandRun run(with, std::move(first),
              job.broken ? job.broken->readings : std::vector<plan::Reading>{});
  Driver driver(board, plan, instrument, run, hooks);
  driver.start(head);
  if (!plan.rounds.empty()) driver.air();
  for (std::size_t r = 0; r < plan.rounds.size() && driver.going(); ++r) driver.round(r);
  Outcome out = run.finish(driver.going());
  out.remarks = head.remarks;
  out.remarks.insert(out.remarks.end(), run.remarks().begin(), run.remarks().end());
  driver.end(out.result.diagnosis.verdict);
  return out;
}

}  // namespace isthmus::session
