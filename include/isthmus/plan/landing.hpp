// SPDX-License-Identifier: Apache-2.0
// What is measured while a hand-held needle stands on a pad.
#pragma once

#include "isthmus/plan/hand.hpp"
#include "isthmus/plan/step_maker.hpp"

namespace isthmus::plan {

// A needle where it stands.
struct Standing {
  std::size_t needle{};  // index into Round::needles
  PointId point{};
  Side side{Side::top};  // top or bottom
  Position at;
};

// The landing as a placement: the round's clips, the needle that has landed, and the others that
// stand. A forked needle's second tip is the twin of its first.
//
// Shape   ascending channel; side is that of the needle that landed.
Placement placement_of(const expect::Board& board, const Round& round, std::size_t number,
                       const Standing& landed, const std::vector<Standing>& others);

// The steps of a landing, in the order of their energy (bench practice, no source): what needs little
// current, then the isolation behind its range resistor, then the resistance.
struct LandingSteps {
  std::vector<Step> gentle;      // at 1 mA at most
  std::vector<Step> resistance;  // at the current of the tips
};

// What is known as it lands.
struct AtLanding {
  std::vector<Channel> heard{};  // of own_channels(), those that the needle conducts to
  std::vector<Channel> idle{};   // of needles that stand nowhere: closed to load what is proven
  bool with_references{false};   // also where none was heard
};

// Everything that one landing must tell by itself: no voltage; controls on either side; the needle
// proven before and after the isolation, by its clip, its twin or the adapter's check; all clips of
// nets it must not conduct to, in one pool; the clip's switch with as many closed; the resistance to
// each clip of its own net.
//
// Shape   without ids, in two blocks of their own. The plan holds the placement already. References
//         only where asked for, since they are the same in each landing, or where none was heard.
LandingSteps steps_of_landing(const expect::Board& board, const Plan& plan, std::size_t placement,
                              Channel needle, const Means& means, std::size_t first_block,
                              const AtLanding& at);

// The nodes of the wiring that it touches: one, or the two that a clip ties; none off copper.
std::vector<std::uint32_t> nodes_under(const expect::Board& board, const Probe& probe);

// Clips and standing needles on the landed needle's own piece of copper; and on pieces that it must
// not conduct to. What may conduct without a fault is in neither.
std::vector<Channel> own_channels(const expect::Board& board, const Placement& placement,
                                  Channel needle);
std::vector<Channel> other_channels(const expect::Board& board, const Placement& placement,
                                    Channel needle);

}  // namespace isthmus::plan
