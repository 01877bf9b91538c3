// SPDX-License-Identifier: Apache-2.0
// What the landings of a needle say together: a bridge or leak that one of them heard may be a tip
// that straddles, or the hand.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "diagnose/fragments.hpp"

namespace isthmus::diagnose {

struct Study;

// A needle heard to conduct to a clip, or to another needle that stands, that it must not; or heard
// both this and that.
struct HeardByHand {
  std::size_t placement{};
  Channel needle{}, other{};
  PointId at{}, other_at{};
  bool two_needles{};
  double ohms{};       // 0: readings that contradict each other
  bool sounds_well{};  // at a later landing, of which a contact is not proven yet
  // The clip was not known to hang on its own net then: it may be another's.
  bool anyones_clip{};
};

class Landings {
 public:
  using Pieces = std::pair<FragmentId, FragmentId>;  // the lower first
  // Heard at one landing, and neither again at another place nor cleared since.
  [[nodiscard]] const std::vector<HeardByHand>& once() const { return once_; }
  // Heard at one landing, and read well at a later one.
  [[nodiscard]] const std::vector<HeardByHand>& gone() const { return gone_; }
  [[nodiscard]] bool unsettled(const Study& s, std::size_t placement, Channel a, Channel b) const;

 private:
  friend Landings settle_landings(Study& s);
  std::vector<HeardByHand> once_, gone_;
  std::set<Pieces> unsettled_;
};

// The copper under two tips of one placement.
Landings::Pieces pieces_of(const Study& s, std::size_t placement, Channel a, Channel b);

// Elsewhere, where a needle would hear the same if it is true: on copper that a clip holds, any place
// of the net; else those that readings tied to this one.
std::vector<PointId> other_places(const Study& s, std::size_t placement, PointId at,
                                  std::optional<PointId> clip_at);

// Holds what each landing heard against the others: what was heard from two places stays, or twice
// from one where there is no other; between two needles both have landed anew; a leak, from three
// of which no landing in between sounded well, since a hand comes and goes; by a clip, only while that was known to hang on its net. What a later landing on the same copper read well, both ends
// proven, is cleared; the rest is doubt. Changes s.isolation so.
Landings settle_landings(Study& s);

// Two tips that read too much at one landing and well at another: contact resistance only adds.
bool cleared_by_hand(const Study& s, std::size_t placement, std::pair<Channel, Channel> tips);
// It reads too much at two landings or more.
bool high_by_hand(const Study& s, std::size_t placement, std::pair<Channel, Channel> tips);

}  // namespace isthmus::diagnose
