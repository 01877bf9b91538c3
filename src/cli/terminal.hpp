// SPDX-License-Identifier: Apache-2.0
// What every command shares: exit codes, colour, where messages go.
#pragma once

#include <cstddef>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::cli {

enum ExitCode {
  kPass = 0,
  kFaults = 1,
  kBadInput = 2,
  kLinkFailure = 3,
  kIncomplete = 4,
  kOurBug = 70
};

// Colour only on a terminal and not under NO_COLOR (https://no-color.org).
bool colour_on(int file_descriptor);
bool is_terminal(int file_descriptor);
// Columns of a terminal, 80 where it does not say; 0 where it is none: then no line is broken.
std::size_t columns_of(int file_descriptor);

void print(const std::string& text);            // stdout, on a terminal wrapped to its width
void complain(const Problem& problem);          // stderr, as an error
void show(const Diagnostics& notes, bool all);  // stderr: warnings, and notes when `all`
// CLI-030 where a file that a person may have edited would be replaced. An empty name is no file.
Result<Done> not_replacing(const std::string& file, bool force);
int bad_input(const Problem& problem);  // complains and gives kBadInput
int exit_code(const Problem& problem);  // by who must act
int give_up(const Problem& problem);    // complains and gives its exit code
// `exit`, unless what was printed could not all be written: then says so (CLI-090, with `hint`), and 0
// becomes kBadInput. What was lost is said once.
int unless_lost(int exit, const std::string& hint);
// A standard stream that the caller closed would be taken by the next file that is opened.
void hold_standard_streams();

// A line on stderr that is drawn again and again; nothing when stderr is no terminal.
class ProgressLine {
 public:
  ProgressLine();
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;
  void draw(std::size_t done, std::size_t of, const std::string& what);
  void say(const std::string& what);  // what goes on, where no end can be told
  void clear();

 private:
  void show(std::string line);
  bool on_;
  std::string last_;
};

}  // namespace isthmus::cli
