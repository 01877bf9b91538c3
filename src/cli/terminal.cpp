// SPDX-License-Identifier: Apache-2.0
#include "cli/terminal.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <stdio_ext.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>

#include "isthmus/report/wrap.hpp"

namespace isthmus::cli {

bool is_terminal(int file_descriptor) { return isatty(file_descriptor) == 1; }

bool colour_on(int file_descriptor) {
  const char* no = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return is_terminal(file_descriptor) && (!no || *no == '\0') &&
         !(term && std::string(term) == "dumb");
}

namespace {

std::string fitted(const std::string& text, int file_descriptor) {
  const std::size_t columns = columns_of(file_descriptor);
  return columns == 0 ? text : report::wrapped(text, columns);
}

// A quoted line of a file and its caret must stay one under the other.
std::string laid_out(const Problem& problem, const std::string& severity) {
  const std::string text = format(problem, severity);
  return problem.source_line.empty() ? fitted(text, STDERR_FILENO) : text;
}

}  // namespace

std::size_t columns_of(int file_descriptor) {
  if (!is_terminal(file_descriptor)) return 0;
  winsize size{};
  if (ioctl(file_descriptor, TIOCGWINSZ, &size) != 0 || size.ws_col < 20) return 80;
  return size.ws_col;
}

void print(const std::string& text) {
  const std::string shown = fitted(text, STDOUT_FILENO);
  std::fwrite(shown.data(), 1, shown.size(), stdout);
  std::fflush(stdout);
}

void complain(const Problem& problem) {
  std::fprintf(stderr, "%s\n", laid_out(problem, "error").c_str());
}

void show(const Diagnostics& notes, bool all) {
  for (const Diagnostic& d : notes.list()) {
    const bool warning = d.severity == Severity::warning;
    if (warning || all)
      std::fprintf(stderr, "%s\n", laid_out(d.what, warning ? "warning" : "note").c_str());
  }
}

Result<Done> not_replacing(const std::string& file, bool force) {
  if (force || file.empty() || !std::filesystem::exists(file)) return Done{};
  return Problem{
      file, 0, 0, "CLI-030", "exists already", "name another --out, or --force to replace it", ""};
}

int bad_input(const Problem& problem) {
  complain(problem);
  return kBadInput;
}

int exit_code(const Problem& problem) {
  switch (problem.cause) {
    case Cause::input:
      return kBadInput;
    case Cause::link:
      return kLinkFailure;
    case Cause::bench:
    case Cause::interrupted:
      return kIncomplete;
  }
  return kOurBug;
}

int give_up(const Problem& problem) {
  complain(problem);
  return exit_code(problem);
}

int unless_lost(int exit, const std::string& hint) {
  if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return exit;
  __fpurge(stdout);
  std::clearerr(stdout);
  complain({"", 0, 0, "CLI-090", "what was to be printed could not all be written", hint, ""});
  return exit == kPass ? kBadInput : exit;
}

void hold_standard_streams() {
  for (int fd = 0; fd <= 2; ++fd) {
    // What is then written fails; the lowest free number is what open() gives.
    if (fcntl(fd, F_GETFD) == -1 && open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY) != fd) return;
  }
}

ProgressLine::ProgressLine() : on_(is_terminal(STDERR_FILENO)) {}
ProgressLine::~ProgressLine() { clear(); }

void ProgressLine::draw(std::size_t done, std::size_t of, const std::string& what) {
  if (!on_) return;
  constexpr std::size_t kWidth = 30;
  const std::size_t filled = of == 0 ? 0 : done * kWidth / of;
  std::string line = fmt::format("{} [{}{}] {}/{}", what, std::string(filled, '='),
                                 std::string(kWidth - filled, ' '), done, of);
  show(std::move(line));
}

void ProgressLine::say(const std::string& what) {
  if (on_) show(what + " ...");
}

void ProgressLine::show(std::string line) {
  if (line == last_) return;
  std::fprintf(stderr, "\r\033[K%s", line.c_str());
  std::fflush(stderr);
  last_ = std::move(line);
}

void ProgressLine::clear() {
  if (on_ && !last_.empty()) std::fprintf(stderr, "\r\033[K");
  last_.clear();
}

}  // namespace isthmus::cli
