// SPDX-License-Identifier: Apache-2.0
// How the probes get where a placement wants them.
#pragma once

#include <functional>
#include <string>

#include "cli/terminal.hpp"
#include "isthmus/session/session.hpp"

namespace isthmus::cli {

// A simulator is told the name; else `command` is run with the name; else the person is asked on
// the terminal; else nobody can lay the probes (CLI-040). Clips are named by their points where a
// board is given.
std::function<Result<Done>(const plan::Placement&)> placing(adapter::Instrument& instrument,
                                                            const std::string& command,
                                                            ProgressLine& line,
                                                            const expect::Board* board);

// What is run with a placement's name where nobody is to be asked; empty: nothing.
struct LayingCommands {
  std::string on_placement, on_lift;
};

// How a placement's tips come to hang in the air before it is laid: a simulator lifts them, else
// on_lift is run, else the person is asked. None where only on_placement is given, or where the
// person wants to go without.
std::function<Result<session::Lifted>(const plan::Placement&)> lifting(
    adapter::Instrument& instrument, const LayingCommands& commands, ProgressLine& line);

// Set by SIGINT and SIGTERM from the moment this is called.
std::function<bool()> watch_signals();

}  // namespace isthmus::cli
