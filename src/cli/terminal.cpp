// SPDX-License-Identifier: Apache-2.0
#include "cli/terminal.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>

namespace isthmus::cli {

bool is_terminal(int file_descriptor) { return isatty(file_descriptor) == 1; }

bool colour_on(int file_descriptor) {
  const char* no = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return is_terminal(file_descriptor) && (!no || *no == '\0') &&
         !(term && std::string(term) == "dumb");
}

void print(const std::string& text) {
  std::fwrite(text.data(), 1, text.size(), stdout);
  std::fflush(stdout);
}

void complain(const Problem& problem) { std::fprintf(stderr, "%s\n", format(problem).c_str()); }

void show(const Diagnostics& notes, bool all) {
  for (const Diagnostic& d : notes.list()) {
    const bool warning = d.severity == Severity::warning;
    if (warning || all)
      std::fprintf(stderr, "%s\n", format(d.what, warning ? "warning" : "note").c_str());
  }
}

int bad_input(const Problem& problem) {
  complain(problem);
  return kBadInput;
}

ProgressLine::ProgressLine() : on_(is_terminal(STDERR_FILENO)) {}
ProgressLine::~ProgressLine() { clear(); }

void ProgressLine::draw(std::size_t done, std::size_t of, const std::string& what) {
  if (!on_) return;
  constexpr std::size_t kWidth = 30;
  const std::size_t filled = of == 0 ? 0 : done * kWidth / of;
  std::string line = fmt::format("{} [{}{}] {}/{}", what, std::string(filled, '='),
                                 std::string(kWidth - filled, ' '), done, of);
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
