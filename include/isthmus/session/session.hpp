// SPDX-License-Identifier: Apache-2.0
// The loop: lay the probes, measure, journal, diagnose, measure what is wanted, before the
// placement is left.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "isthmus/adapter/instrument.hpp"
#include "isthmus/record/record.hpp"
#include "isthmus/session/zero.hpp"

namespace isthmus::session {

// Whose tips now touch nothing.
enum class Lifted {
  none,       // nobody can say: the trial in air is left out
  placement,  // this placement's, as they will be laid
  all         // those of all placements, which have the same wires
};

// How a placement is changed and progress shown; filled in by the cli.
struct Hooks {
  // Returns when the probes lie as the placement says; a Problem when nobody can lay them (run ends
  // incomplete).
  std::function<Result<Done>(const plan::Placement&)> lay;
  // Before that: returns when the tips of the placement are connected and touch nothing. None, or
  // no such hook: wires and tips are not tried, and the verdict says so.
  std::function<Result<Lifted>(const plan::Placement&)> lift{};
  std::function<void(std::size_t done, std::size_t of, const std::string& what)> progress;
  std::function<bool()> interrupted;  // a signal came: stop, switches open
  // Taken off continuity and resistance readings. A reading that it makes less than nothing stops
  // the run (SES-030): whatever was read with it is then in doubt.
  std::optional<Zero> zero{};
};

// How a run that broke off was continued.
struct Resumed {
  record::RunId from{};
  std::vector<std::string> carried, again;  // placements: taken over; laid again
  std::size_t compared{}, differing{};      // readings that were repeated
  std::size_t resistances{};                // of those compared, what conducted then
};

struct Outcome {
  record::RunId run{};
  std::vector<std::string> remarks;  // of the head, with what this run adds
  std::optional<Resumed> resumed;
  record::RunResult result;
  plan::Plan plan;  // with the wanted steps
  std::vector<plan::Reading> readings;
  std::optional<Problem> link_failure;  // exit code 3
  std::optional<Problem> stopped;       // nobody laid the probes, or interrupted
};

// Runs a plan on an adapter. Checks before the first step: channels, wires, contact check as the
// plan relies on, no voltage on the board; before a placement is first laid, that none of its wires
// touch (SES-034, SES-035 end the run). Errors SES-0xx for those; link failures end inside the
// Outcome with the findings so far.
Result<Outcome> run_test(const expect::Board& board, plan::Plan plan,
                         adapter::Instrument& instrument, record::Record& record,
                         const record::RunHead& head, const Hooks& hooks);

// Continues a run that broke off. The placement it broke off in is laid again, with as many
// finished ones as a comparison of at least eight resistances needs, and all of it is measured
// anew. Where each repeated reading agrees, the other finished placements are carried over; where
// one does not, nothing is: a whole run follows. Errors: as above, and SES-011 when the plan is not
// the same.
Result<Outcome> resume_test(const expect::Board& board, plan::Plan plan,
                            const record::StoredRun& broken, adapter::Instrument& instrument,
                            record::Record& record, record::RunHead head, const Hooks& hooks);

}  // namespace isthmus::session
