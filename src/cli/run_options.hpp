// SPDX-License-Identifier: Apache-2.0
// What `test` and `guide` share: options, the head of a run, and how its end is told.
#pragma once

#include <CLI/CLI.hpp>
#include <optional>
#include <string>

#include "cli/board_options.hpp"
#include "isthmus/adapter/instrument.hpp"
#include "isthmus/report/report.hpp"
#include "isthmus/session/session.hpp"

namespace isthmus::cli {

struct RunOptions {
  BoardOptions board;
  std::string adapter, unit, record, report;
  bool json{false}, inch{false}, relaxed{false}, resume{false};
  report::Origin origin{report::Origin::artwork};
};
// --adapter, --unit, --record, --report; gives the first.
CLI::Option* add_run_options(CLI::App& command, RunOptions& o);

// --origin artwork|corner.
void add_origin_option(CLI::App& command, report::Origin& origin);

// CLI-052 where --resume stands without --unit.
std::optional<Problem> resumes_nobody(const RunOptions& o);

// Without a fixture and an adapter.
record::RunHead head_of(const RunOptions& o, const expect::Board& board);
// Which adapter it is, and that lax limits were allowed.
void note_adapter(record::RunHead& head, const RunOptions& o,
                  const adapter::Instrument& instrument);

report::RunView view_of(record::RunHead head, const session::Outcome& outcome);
void print_run(const RunOptions& o, const report::RunView& view);
// Says what broke it off, last, so that it is not lost above the rest; gives the exit code.
int end_run(const session::Outcome& outcome);
// Prints the run and writes the report that was asked for, says where the run is kept and what broke it
// off; gives the verdict's exit code, also where the report could not be written.
int finish_run(const RunOptions& o, const expect::Board& board, report::RunView view,
               session::Outcome outcome);

}  // namespace isthmus::cli
