// SPDX-License-Identifier: Apache-2.0
#include "cli/placing.hpp"

#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <iostream>

#include "isthmus/report/report.hpp"

namespace isthmus::cli {
namespace {

volatile sig_atomic_t interrupted = 0;  // the only thing a signal handler may touch

void on_signal(int) { interrupted = 1; }

Result<Done> run_command(
    const std::string& command, const std::string& placement, const std::string& did_not,
    const std::function<void()>& meanwhile = [] {}) {
  const pid_t pid = fork();
  if (pid == 0) {
    dup2(STDERR_FILENO, STDOUT_FILENO);  // stdout is for the result alone
    execl("/bin/sh", "sh", "-c", (command + " \"$1\"").c_str(), "sh", placement.c_str(),
          static_cast<char*>(nullptr));
    _exit(127);
  }
  meanwhile();
  int status = 0;
  if (pid < 0 || waitpid(pid, &status, 0) != pid || !WIFEXITED(status) ||
      WEXITSTATUS(status) != 0) {
    return Problem{"",
                   0,
                   0,
                   "CLI-041",
                   fmt::format("'{} {}' did not {} the probes", command, placement, did_not),
                   "",
                   "",
                   Cause::bench};
  }
  return Done{};
}

// ", 2 clips: 7 on J2.3 (bottom, 12.700, 8.255 mm), 8 on TP1 (...)"
std::string clips_in_words(const plan::Placement& placement, const expect::Board* board) {
  std::size_t count = 0;
  std::string list;
  for (const plan::Probe& p : placement.probes) {
    if (!p.clip) continue;
    ++count;
    if (board) list += (list.empty() ? ": " : ", ") + report::clip_in_words(*board, p);
  }
  if (count == 0) return "";
  return fmt::format(", {} clip{}{}", count, count == 1 ? "" : "s", list);
}

Result<Done> ask(const plan::Placement& placement, const expect::Board* board,
                 const std::function<void()>& meanwhile) {
  const auto pins = std::ranges::count(placement.probes, false, &plan::Probe::clip);
  const std::string what =
      fmt::format("{} pin{}{}", pins, pins == 1 ? "" : "s", clips_in_words(placement, board));
  const bool two = placement.side == Side::both;
  const std::string plate =
      two ? fmt::format("both plates of {}", placement.name) : "plate " + placement.name;
  const std::string text =
      board ? fmt::format(
                  "\nPut {} on {}, {}. Board unpowered, dry and clean; mind the spring "
                  "pins.\nPress Enter when the board is seated, Ctrl-C to stop. ",
                  plate, two ? "the board" : fmt::format("the {} side", name(placement.side)), what)
            : fmt::format(
                  "\nPress {} on bare, bright copper, {}; mind the spring pins.\nPress Enter when "
                  "all its tips touch the copper, Ctrl-C to stop. ",
                  plate, what);
  std::fputs(text.c_str(), stderr);
  meanwhile();
  std::string line;
  if (interrupted != 0 || !std::getline(std::cin, line))
    return Problem{"", 0,  0,           "CLI-042", "stopped before placement " + placement.name,
                   "", "", Cause::bench};
  return Done{};
}

Result<session::Lifted> ask_to_lift(const plan::Placement& placement) {
  const std::string text = fmt::format(
      "\nFirst placement {} in the air, for wires and tips that touch each other: connect it, and "
      "let all\nits tips hang clear of the board and of each other. Press Enter when they do; s "
      "and "
      "Enter goes\nwithout, Ctrl-C stops. ",
      placement.name);
  std::fputs(text.c_str(), stderr);
  std::string line;
  if (!std::getline(std::cin, line))
    return Problem{"",
                   0,
                   0,
                   "CLI-042",
                   "stopped before placement " + placement.name + " was tried in the air",
                   "",
                   "",
                   Cause::bench};
  return line == "s" || line == "S" ? session::Lifted::none : session::Lifted::placement;
}

// A simulator that cannot lift its tips has none down before the first laying. Where one was left
// down by somebody else the trial says so.
Result<session::Lifted> lift_simulated(adapter::Instrument& instrument) {
  const auto lifted = instrument.lift_simulated();
  if (!lifted) return lifted.problem();
  return session::Lifted::all;
}

bool somebody_is_there() { return is_terminal(STDIN_FILENO) && is_terminal(STDERR_FILENO); }

}  // namespace

std::function<bool()> watch_signals() {
  struct sigaction action {};
  action.sa_handler = on_signal;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
  sigaction(SIGHUP, &action, nullptr);
  signal(SIGPIPE, SIG_IGN);
  return [] { return interrupted != 0; };
}

Lay placing(adapter::Instrument& instrument, const std::string& command, ProgressLine& line,
            const expect::Board* board) {
  return
      [&instrument, &line, command, board](const plan::Placement& placement,
                                           const std::function<void()>& meanwhile) -> Result<Done> {
        line.clear();
        if (instrument.capabilities().simulated) return instrument.lay_simulated(placement.name);
        if (!command.empty()) return run_command(command, placement.name, "lay", meanwhile);
        if (somebody_is_there()) return ask(placement, board, meanwhile);
        return Problem{"",
                       0,
                       0,
                       "CLI-040",
                       "nobody can lay placement " + placement.name,
                       "run it on a terminal, or give --on-placement CMD",
                       "",
                       Cause::bench};
      };
}

std::function<Result<session::Lifted>(const plan::Placement&)> lifting(
    adapter::Instrument& instrument, const LayingCommands& commands, ProgressLine& line) {
  return
      [&instrument, &line, commands](const plan::Placement& placement) -> Result<session::Lifted> {
        line.clear();
        if (instrument.capabilities().simulated) return lift_simulated(instrument);
        if (!commands.on_lift.empty()) {
          if (auto done = run_command(commands.on_lift, placement.name, "lift"); !done)
            return done.problem();
          return session::Lifted::placement;
        }
        if (commands.on_placement.empty() && somebody_is_there()) return ask_to_lift(placement);
        return session::Lifted::none;
      };
}

}  // namespace isthmus::cli
