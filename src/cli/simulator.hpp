// SPDX-License-Identifier: Apache-2.0
// sim:SCENARIO.yaml: isthmus-sim as a process beside this one.
#pragma once

#include <sys/types.h>

#include <memory>
#include <optional>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::cli {

class Simulator {
 public:
  // Starts isthmus-sim (found beside this program, else on the PATH) and waits for its address, at
  // most a minute. Errors CLI-010 it cannot be run, CLI-011 it gave no address, CLI-012 it refuses
  // its input (whoever wrote it must act, not a failing link); with what it said on stderr. Without a fixture a simulated
  // hand moves clips and needles.
  static Result<std::unique_ptr<Simulator>> start(const std::string& scenario,
                                                  const std::string& fixture);
  ~Simulator();
  Simulator(const Simulator&) = delete;
  Simulator& operator=(const Simulator&) = delete;

  [[nodiscard]] const std::string& address() const { return address_; }

  // A line for the simulated person to read; they have read it before the next message.
  void tell(const std::string& line);
  // A line that they said since, without waiting; nothing where there is none.
  std::optional<std::string> heard();

 private:
  Simulator() = default;
  int end();  // waits, at last kills; the exit status of waitpid
  pid_t pid_{-1};
  int stdin_{-1}, stdout_{-1};
  std::string address_;
  std::string said_;  // since the last whole line
};

}  // namespace isthmus::cli
