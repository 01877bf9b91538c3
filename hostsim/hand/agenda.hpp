// SPDX-License-Identifier: Apache-2.0
// What a person is going to do, in order of time.
#pragma once

#include <functional>
#include <limits>
#include <map>
#include <utility>

namespace isthmus::hostsim {

class Agenda {
 public:
  // Of equal times the one entered first comes first.
  void at(double seconds, int owner, std::function<void(double)> act) {
    steps_[{seconds, ++entered_}] = {owner, std::move(act)};
  }
  void cancel(int owner) {
    std::erase_if(steps_, [owner](const auto& s) { return s.second.owner == owner; });
  }
  void clear() { steps_.clear(); }
  [[nodiscard]] double next() const {
    return steps_.empty() ? std::numeric_limits<double>::infinity() : steps_.begin()->first.first;
  }
  // Carries out what is due; what that enters too, where it is due as well.
  void run_until(double seconds) {
    while (!steps_.empty() && steps_.begin()->first.first <= seconds) {
      const auto step = steps_.extract(steps_.begin());
      step.mapped().act(step.key().first);
    }
  }

 private:
  struct Step {
    int owner{};
    std::function<void(double)> act;
  };
  std::map<std::pair<double, long>, Step> steps_;
  long entered_{0};
};

}  // namespace isthmus::hostsim
