// SPDX-License-Identifier: Apache-2.0
#include "session/guide/pace.hpp"

#include <algorithm>

namespace isthmus::session {
namespace {

constexpr std::size_t kEnough = 20;
constexpr double kRest = 25 * 60;

}  // namespace

void Pace::booked(double now) { seconds_.push_back(now - begun_); }

std::optional<std::pair<double, double>> Pace::minutes(std::size_t touches) const {
  if (seconds_.size() < kEnough) return std::nullopt;
  std::vector<double> sorted = seconds_;
  std::ranges::sort(sorted);
  const double n = static_cast<double>(touches) / 60;
  return std::pair{n * sorted[sorted.size() / 4], n * sorted[3 * sorted.size() / 4]};
}

bool Pace::rest_is_due(double now) {
  if (now - rested_ < kRest) return false;
  rested_ = now;
  return true;
}

}  // namespace isthmus::session
