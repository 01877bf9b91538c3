// SPDX-License-Identifier: Apache-2.0
// A board made once: clips that stay where they are, needles held in the hand.
#pragma once

#include <span>

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// One or two tips held together. A forked needle has two, insulated from each other, on one pad.
struct Needle {
  Channel channel{};
  std::optional<Channel> fork{};  // channel of the second tip
  bool operator==(const Needle&) const = default;
};

// What lies on the bench.
struct HandMeans {
  int channels{16};
  int needles{1};      // 1 or 2
  bool forked{false};  // the first needle has two tips
  bool contact_check{false};
};

struct HandClip {
  Channel channel{};
  PointId point{};
  Side side{
      Side::top};  // both: a hook or lead through a hole, or a clip over the rim: a join of its own
  bool operator==(const HandClip&) const = default;
};

// One landing: this needle goes there, the other one stays where it is.
struct Touch {
  std::size_t needle{};  // index into Round::needles
  PointId point{};
  Side side{Side::top};
  Position at;
  std::size_t excludes{};  // entries of the list that it alone settles, of those left before it
  double likelihood{};     // of these, as a share of all
};

// As long as the clips stay.
struct Round {
  std::vector<Needle> needles;
  std::vector<HandClip> clips;  // ascending channel
  std::vector<Touch> touches;   // in order
};

struct HandPlan {
  std::vector<Round> rounds;
  std::size_t touches{};
  std::size_t bound{};            // no order with these clips can do with fewer
  std::size_t free_bound{};       // nor any with other clips
  std::size_t pairs_unclipped{};  // that neither end of is clipped, in any round
  double minutes_low{}, minutes_high{};
  std::vector<EntryId> cannot_tell;  // of the list, whatever is read
};

// Which places the person ruled out for clips, and which clips are given (none: all are proposed).
struct ClipWish {
  std::vector<HandClip> fixed;
  std::vector<PointId> struck_out;
};

// Clips where they cost least time by hand, and touches so that every entry of the list is excluded
// on a good board. The list is the only judge of what is enough (expect::derive).
//
// Units   minutes by the paces of docs/guide.md.
// Errors  HND-0xx: fewer channels than needles, a given clip that nothing can hold or that hides a
//         pad. What no touch can tell stands in cannot_tell.
// Source  docs/guide.md.
Result<HandPlan> plan_by_hand(const expect::Board& board, const HandMeans& means,
                              const ClipWish& wish, Diagnostics& notes);

// What is left of a round after what is known, in order, from where the needles stand: after a
// touch that did not go as planned, a place that cannot be reached, or a night.
std::vector<Touch> touches_left(const expect::Board& board, const Round& round,
                                const HandMeans& means, const expect::Facts& known,
                                std::span<const PointId> cannot_reach,
                                std::span<const Position> needles_at);

}  // namespace isthmus::plan
