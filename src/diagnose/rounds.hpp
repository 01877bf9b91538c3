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
// may have fallen off and been put back by a touch. What proves that it touches something says
// nothing of where it hangs: until a needle elsewhere on its own net conducted to it, and from each
// loss until one does so again, its proofs are none.
class RoundProofs {
 public:
  using Channel = plan::Channel;
  using Sequences = std::vector<std::uint32_t>;

  void prove(int row, Channel clip, std::uint32_t sequence) {
    proven_[{row, clip}].push_back(sequence);
  }
  void lose(Channel clip, std::uint32_t sequence) { lost_[clip].push_back(sequence); }
  // A needle on the clip's own net, by the plan, conducted to it: from another pad, or beside it on
  // its own, where it may have touched the clip itself.
  void meet(Channel clip, bool elsewhere, std::uint32_t sequence) {
    met_[clip].push_back(sequence);
    if (elsewhere) met_elsewhere_[clip].push_back(sequence);
  }
  void load(int row, Channel clip, std::size_t closed);
  void sort();  // after all of these

  [[nodiscard]] bool proven_around(int row, Channel clip, std::uint32_t sequence) const;
  // Proven, through whichever row, or met on its own pad, before `first` and after `last`; heard to
  // be gone at most in between.
  [[nodiscard]] bool stayed(Channel clip, std::uint32_t first, std::uint32_t last) const;
  // It was met, on its own pad at the least, and not heard to be gone from then until `first`; or
  // it was met between the two.
  [[nodiscard]] bool hangs(Channel clip, std::uint32_t first, std::uint32_t last) const;
  // Or nothing that conducts to it is known, so that it cannot be.
  [[nodiscard]] bool holds_under_load(int row, Channel clip, std::size_t closed) const;
  [[nodiscard]] std::optional<std::uint32_t> last_proven(Channel clip) const;
  [[nodiscard]] std::optional<std::uint32_t> last_lost(Channel clip) const;

  std::set<Channel> at_voltage;  // conducted so at the test voltage

 private:
  [[nodiscard]] bool met_by(const std::map<Channel, Sequences>& met, Channel clip,
                            std::uint32_t first, std::uint32_t last) const;
  [[nodiscard]] bool lost_between(Channel clip, std::uint32_t from, std::uint32_t to) const;

  std::map<std::pair<int, Channel>, Sequences> proven_;
  std::map<Channel, Sequences> lost_, met_, met_elsewhere_;
  std::map<std::pair<int, Channel>, std::size_t> loads_;
};

}  // namespace isthmus::diagnose
