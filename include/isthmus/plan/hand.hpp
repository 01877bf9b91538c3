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
  // both: a hook through a hole, or a clip over the rim, is a join of its own; on the wire or lead
  // of a joined hole it holds that metal.
  Side side{Side::top};
  Side from{Side::top};  // where its body is: pads near it on that side are out of reach
  bool operator==(const HandClip&) const = default;
};

// The nodes of the wiring that a clip touches: one; or, with side both of a hole without metal of
// its own, the copper on top and at the bottom, which it ties for as long as it sits. Empty where
// there is no copper.
std::vector<std::uint32_t> clip_nodes(const expect::Board& board, const HandClip& clip);

// One landing: this needle goes there, the other one stays where it is.
struct Touch {
  std::size_t needle{};  // index into Round::needles
  PointId point{};
  Side side{Side::top};
  Position at;
  bool other_stands{false};  // the other needle stays where it is and is read to this one
  std::size_t excludes{};  // entries of the list that it settles, of those left before it; in long
                           // rounds up to four touches are counted at the last of them
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
  std::size_t bound{};                      // no order with these clips can do with fewer
  std::size_t free_bound{};                 // nor any with other clips
  std::size_t places{}, groups{}, pairs{};  // that the list asks for, whatever the clips
  std::size_t pairs_unclipped{};            // that neither end of is clipped, in any round
  std::size_t unnoticed{};  // landings that conduct to nothing: only a key says that they are
  double minutes_low{}, minutes_high{};
  std::vector<expect::EntryId> cannot_tell;  // of the list, whatever is read
};

// Which places the person ruled out for clips, and which clips are given (none: all are proposed).
struct ClipWish {
  std::vector<HandClip> fixed;
  std::vector<PointId> struck_out;
};

// Clips where they cost least time by hand, and touches so that every entry of the list is excluded
// on a good board. The list is the only judge of what is enough (expect::derive).
//
// Shape   a touch that is needed twice, as before and after what a clip is relied upon, stands
//         twice; the first touches of a round meet each clipped net once.
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
