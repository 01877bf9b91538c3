// SPDX-License-Identifier: Apache-2.0
// Which of the places that can be held are clipped.
#pragma once

#include "plan/hand/holds.hpp"

namespace isthmus::plan::hand {

// What a round still has to do.
struct Needs {
  std::vector<Place> places;  // of pieces that are not tied yet
  std::set<PiecePair> pairs;
  [[nodiscard]] bool any() const { return !places.empty() || !pairs.empty(); }
};

struct ClipWork {
  std::vector<Channel> channels;  // free for clips, ascending
  bool ties{false};               // only a clip can tie a piece: there is one needle
  bool both_ends{false};          // a pair is told only with a clip at each end
};

// The clips that leave the fewest pairs without a clip at either end (and, where only clips tie, the
// fewest pieces untied): greedy, then exchanged one for one. A clip that saves no landing but its
// own is not worth fitting.
std::vector<HandClip> choose_clips(const std::vector<Hold>& holds, const Needs& needs,
                                   const ClipWork& work);

}  // namespace isthmus::plan::hand
