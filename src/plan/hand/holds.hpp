// SPDX-License-Identifier: Apache-2.0
// Where a clip, hook or wire end can hold.
#pragma once

#include <span>

#include "plan/hand/demand.hpp"

namespace isthmus::plan::hand {

// A hook or a wire end needs a hole this wide, a clip a pad this wide both ways. Common practice,
// no source.
inline constexpr Nanometres kHoldHole{600'000};
inline constexpr Nanometres kHoldPad{2'000'000};
// A needle comes no nearer to the middle of a clip: half of a small grabber and of a finger's room,
// and less than the 2.54 mm of a header, so that its pins can be clipped one beside the other.
inline constexpr Nanometres kClipBody{2'500'000};
// The end of a hook that looks out of its hole on the far side.
inline constexpr Nanometres kHookEnd{1'000'000};
// Two clips side by side.
inline constexpr Nanometres kClipRoom{2'000'000};

struct Hold {
  HandClip clip;                // without a channel
  std::vector<PieceId> pieces;  // that it holds
  Position at;
  int ease{};              // rows of holes first, then holes, pads, ends of wires
  std::size_t landings{};  // that its own ends cost: on a ring that is all of its copper, twice
  bool whole{true};  // false: it ties copper that the list wants read from one side to the other
};

// Points that the clip lies on: its own, and the other end of its hole.
std::vector<PointId> under(const expect::Board& board, const HandClip& clip);

bool lies_under(const expect::Board& board, const HandClip& clip, PointId point);

// Whether `place` can be touched while that clip sits: the ring of its own hole only from the side
// where its body is not.
bool in_reach(const expect::Board& board, const HandClip& clip, const Place& place);

// Places that can be held, that hide nothing that must be touched, and whose piece has another
// place, by which the clip is learned. In order of points.
std::vector<Hold> holds_of(const expect::Board& board, const Demand& demand,
                           std::span<const PointId> struck_out);

// Whether something can hold there at all, as for a clip that a person chose.
bool can_hold(const expect::Board& board, const HandClip& clip);

}  // namespace isthmus::plan::hand
