// SPDX-License-Identifier: Apache-2.0
// Lines for the person at the bench, read without ever waiting for one.
#pragma once

#include <string>
#include <vector>

#include "hostsim/waiter.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

class EventInput {
 public:
  static EventInput from_stdin() { return EventInput(Descriptor(), 0); }
  // A FIFO, or a file that grows. Error SIM-050.
  static Result<EventInput> open(const std::string& path);

  [[nodiscard]] bool is_stdin() const { return file_.get() < 0; }
  // REQUIRES something to read. False at the end, or when it cannot be read.
  bool read_some();
  // The whole lines written until now that were not taken yet.
  std::vector<std::string> take();

 private:
  EventInput(Descriptor file, int fd) : file_(std::move(file)), fd_(fd) {}

  Descriptor file_;
  int fd_;
  std::string pending_;
};

}  // namespace isthmus::hostsim
