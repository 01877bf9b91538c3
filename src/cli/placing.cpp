// SPDX-License-Identifier: Apache-2.0
#include "cli/placing.hpp"

#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <iostream>

namespace isthmus::cli {
namespace {

volatile sig_atomic_t interrupted = 0;  // the only thing a signal handler may touch

void on_signal(int) { interrupted = 1; }

Result<Done> run_command(const std::string& command, const std::string& placement) {
  const pid_t pid = fork();
  if (pid == 0) {
    dup2(STDERR_FILENO, STDOUT_FILENO);  // stdout is for the result alone
    execl("/bin/sh", "sh", "-c", (command + " \"$1\"").c_str(), "sh", placement.c_str(),
          static_cast<char*>(nullptr));
    _exit(127);
  }
  int status = 0;
  if (pid < 0 || waitpid(pid, &status, 0) != pid || !WIFEXITED(status) ||
      WEXITSTATUS(status) != 0) {
    return Problem{
        "", 0, 0, "CLI-041", fmt::format("'{} {}' did not lay the probes", command, placement),
        "", ""};
  }
  return Done{};
}

Result<Done> ask(const plan::Placement& placement) {
  std::fprintf(stderr,
               "\nLay placement %s: %zu probes on the %s side. Board unpowered, dry and clean; "
               "mind the spring pins.\n"
               "Press Enter when it lies, Ctrl-C to stop. ",
               placement.name.c_str(), placement.probes.size(),
               std::string(name(placement.side)).c_str());
  std::string line;
  if (!std::getline(std::cin, line))
    return Problem{"", 0, 0, "CLI-042", "nobody laid the probes", "", ""};
  return Done{};
}

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

std::function<Result<Done>(const plan::Placement&)> placing(adapter::Instrument& instrument,
                                                            const std::string& command,
                                                            ProgressLine& line) {
  return [&instrument, &line, command](const plan::Placement& placement) -> Result<Done> {
    line.clear();
    if (instrument.capabilities().simulated) return instrument.lay_simulated(placement.name);
    if (!command.empty()) return run_command(command, placement.name);
    if (is_terminal(STDIN_FILENO) && is_terminal(STDERR_FILENO)) return ask(placement);
    return Problem{"",
                   0,
                   0,
                   "CLI-040",
                   "nobody can lay placement " + placement.name,
                   "run it on a terminal, or give --on-placement CMD",
                   ""};
  };
}

}  // namespace isthmus::cli
