// SPDX-License-Identifier: Apache-2.0
// When the clips of a round were known to touch, over all landings of it.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "isthmus/plan/plan.hpp"

namespace isthmus::diagnose {

// A clip counts from one proof to the next, as long as it was not heard to be gone in between: it
// may have fallen off and been put back by a touch.
class RoundProofs {
 public:
  using Channel = plan::Channel;
  using Sequences = std::vector<std::uint32_t>;

  void prove(int row, Channel clip, std::uint32_t sequence) {
    proven_[{row, clip}].push_back(sequence);
  }
  void lose(Channel clip, std::uint32_t sequence) { lost_[clip].push_back(sequence); }
  void load(int row, Channel clip, std::size_t closed);
  void sort();  // after all of these

  [[nodiscard]] bool proven_around(int row, Channel clip, std::uint32_t sequence) const;
  // Proven, through whichever row, before `first` and after `last`; heard to be gone at most in
  // between.
  [[nodiscard]] bool stayed(Channel clip, std::uint32_t first, std::uint32_t last) const;
  // Or nothing that conducts to it is known, so that it cannot be.
  [[nodiscard]] bool holds_under_load(int row, Channel clip, std::size_t closed) const;
  [[nodiscard]] std::optional<std::uint32_t> last_proven(Channel clip) const;
  [[nodiscard]] std::optional<std::uint32_t> last_lost(Channel clip) const;

  std::set<Channel> at_voltage;  // conducted so at the test voltage

 private:
  [[nodiscard]] bool lost_between(Channel clip, std::uint32_t from, std::uint32_t to) const;

  std::map<std::pair<int, Channel>, Sequences> proven_;
  std::map<Channel, Sequences> lost_;
  std::map<std::pair<int, Channel>, std::size_t> loads_;
};

}  // namespace isthmus::diagnose
