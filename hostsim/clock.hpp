// SPDX-License-Identifier: Apache-2.0
// The bench's clock. Virtual: waiting only counts. Real: waiting also waits.
#pragma once

#include <chrono>
#include <thread>

namespace isthmus::hostsim {

class Clock {
 public:
  explicit Clock(bool real) : real_(real) {}
  void wait(double seconds) {
    seconds_ += seconds;
    if (real_) std::this_thread::sleep_for(std::chrono::duration<double>(seconds));
  }
  [[nodiscard]] double seconds() const { return seconds_; }

 private:
  bool real_;
  double seconds_{0};
};

}  // namespace isthmus::hostsim
