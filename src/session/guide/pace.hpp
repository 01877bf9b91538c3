// SPDX-License-Identifier: Apache-2.0
// How long this person takes for a touch, and when a rest is due.
#pragma once

#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

namespace isthmus::session {

// Seconds are of any one clock. The first touches are slow, and one that was talked over is no pace:
// the quartiles are told, after 20 touches (common practice, no source).
class Pace {
 public:
  void begin(double now) { begun_ = now; }
  void booked(double now);
  void rested(double now) { rested_ = now; }
  // Low and high, for so many touches; nothing while too few were made.
  [[nodiscard]] std::optional<std::pair<double, double>> minutes(std::size_t touches) const;
  // Once in 25 minutes without a rest.
  bool rest_is_due(double now);

 private:
  double begun_{}, rested_{};
  std::vector<double> seconds_;
};

}  // namespace isthmus::session
