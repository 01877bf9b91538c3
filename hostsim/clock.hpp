// SPDX-License-Identifier: Apache-2.0
// The bench's clock. Virtual: waiting only counts. Real: waiting also waits.
#pragma once

#include <chrono>
#include <thread>

namespace isthmus::hostsim {

class Clock {
 public:
  explicit Clock(bool real) : real_(real) {}
  // Something to do has come: from here on waits are counted, and what the bench itself takes to
  // calculate, or oversleeps, is part of them. An adapter of metal calculates nothing.
  void start() { due_ = Time::now(); }
  void wait(double seconds) {
    seconds_ += seconds;
    if (!real_) return;
    due_ += std::chrono::ceil<Time::duration>(std::chrono::duration<double>(seconds));
    std::this_thread::sleep_until(due_);
  }
  [[nodiscard]] double seconds() const { return seconds_; }

 private:
  using Time = std::chrono::steady_clock;
  bool real_;
  Time::time_point due_{Time::now()};
  double seconds_{0};
};

}  // namespace isthmus::hostsim
