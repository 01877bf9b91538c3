// SPDX-License-Identifier: Apache-2.0
// The drivers: a whole run, and one that continues another.
#include "isthmus/session/session.hpp"

#include <fmt/format.h>

#include "session/problems.hpp"
#include "session/requests.hpp"
#include "session/resume.hpp"
#include "session/run.hpp"

namespace isthmus::session {
namespace {

Result<Done> check(const plan::Plan& plan, const Setting& with) {
  if (auto fits = check_means(plan, with.instrument.capabilities()); !fits) return fits;
  return check_zero(plan, with.hooks.zero);
}

Result<Outcome> whole_run(const Setting& with, plan::Plan plan, const record::RunHead& head) {
  const auto id = with.record.begin(head, plan);
  if (!id) return id.problem();
  Run run(with, *id, std::move(plan));
  for (std::size_t i = 0; i < run.knowledge().plan().placements.size(); ++i) run.place(i);
  Outcome out = run.finish();
  out.remarks = head.remarks;
  return out;
}

Resumed resumed_from(const Carried& carried, record::RunId from) {
  Resumed resumed{from, {}, {}, 0, 0, 0};
  for (const std::size_t i : carried.placements)
    resumed.carried.push_back(carried.plan.placements[i].name);
  for (const std::size_t i : carried.again)
    resumed.again.push_back(carried.plan.placements[i].name);
  return resumed;
}

Problem reads_otherwise(const Resumed& resumed) {
  return because(Cause::bench, "SES-012",
                 (resumed.differing > 0 ? "the board does not read as in run "
                                        : "too few readings could be compared with those of run ") +
                     std::to_string(resumed.from),
                 "");
}

// The outcome's state is "broken off" and `disagrees` true where the board is not as it was.
Result<Outcome> continued_run(const Setting& with, Carried carried, record::RunId from,
                              record::RunHead head, bool& disagrees) {
  Resumed resumed = resumed_from(carried, from);
  if (!resumed.carried.empty())
    head.remarks.push_back(fmt::format("continues run {}: placement {} carried over from it", from,
                                       fmt::join(resumed.carried, ", ")));
  const auto id = with.record.begin(head, carried.plan);
  if (!id) return id.problem();
  Run run(with, *id, std::move(carried.plan), carried.readings);
  std::vector<bool> seen(run.knowledge().plan().placements.size());
  for (const std::size_t i : carried.placements) {
    run.placement_done(i);
    seen[i] = true;
  }
  for (const std::size_t i : carried.again) {
    run.place(i);
    seen[i] = true;
  }
  const auto now = std::span(run.knowledge().readings()).subspan(carried.readings.size());
  const Agreement agreement = compare(run.knowledge().plan(), carried.to_repeat, now);
  resumed.compared = agreement.compared;
  resumed.differing = agreement.differing;
  resumed.resistances = agreement.resistances;
  disagrees = !run.ended() && !carried.placements.empty() && !agreement.holds();
  if (disagrees) run.stop(reads_otherwise(resumed));
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (!seen[i]) run.place(i);
  }
  Outcome out = run.finish();
  out.remarks = head.remarks;
  out.resumed = std::move(resumed);
  return out;
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
  const Setting with{board, instrument, record, hooks};
  if (auto fits = check(plan, with); !fits) return fits.problem();
  return whole_run(with, std::move(plan), head);
}

Result<Outcome> resume_test(const expect::Board& board, plan::Plan plan,
                            const record::StoredRun& broken, adapter::Instrument& instrument,
                            record::Record& record, record::RunHead head, const Hooks& hooks) {
  const Setting with{board, instrument, record, hooks};
  if (auto fits = check(plan, with); !fits) return fits.problem();
  auto carried = carried_from(board, broken, plan);
  if (!carried) return carried.problem();
  bool disagrees = false;
  auto first = continued_run(with, std::move(*carried), broken.head.id, head, disagrees);
  if (!first || !disagrees) return first;
  head.remarks.push_back(fmt::format("run {} was not continued: {}; everything was measured anew",
                                     broken.head.id, why_not(*first->resumed)));
  auto whole = whole_run(with, std::move(plan), head);
  if (whole) {
    whole->resumed = std::move(first->resumed);
    whole->resumed->carried.clear();
  }
  return whole;
}

}  // namespace isthmus::session
