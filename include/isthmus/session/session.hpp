// SPDX-License-Identifier: Apache-2.0
// The loop: lay the probes, measure, journal, diagnose, measure what is wanted, before the
// placement is left.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "isthmus/adapter/instrument.hpp"
#include "isthmus/record/record.hpp"

namespace isthmus::session {

// How a placement is changed and progress shown; filled in by the cli.
struct Hooks {
  // Returns when the probes lie as the placement says; a Problem when nobody can lay them (run ends
  // incomplete).
  std::function<Result<Done>(const plan::Placement&)> lay;
  std::function<void(std::size_t done, std::size_t of, const std::string& what)> progress;
  std::function<bool()> interrupted;  // a signal came: stop, switches open
};

struct Outcome {
  record::RunId run{};
  record::RunResult result;
  plan::Plan plan;  // with the wanted steps
  std::vector<plan::Reading> readings;
  std::optional<Problem> link_failure;  // exit code 3
  std::optional<Problem> stopped;       // nobody laid the probes, or interrupted
};

// Runs a plan on an adapter. Checks before the first step: channels, wires, contact check as the
// plan relies on, no voltage on the board. Errors SES-0xx for those; link failures end inside the
// Outcome with the findings so far.
Result<Outcome> run_test(const expect::Board& board, plan::Plan plan,
                         adapter::Instrument& instrument, record::Record& record,
                         record::RunHead head, const Hooks& hooks);

}  // namespace isthmus::session
