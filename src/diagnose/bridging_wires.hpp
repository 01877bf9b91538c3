// SPDX-License-Identifier: Apache-2.0
// A bridge between two nets, or two wires of the harness that touch? By the contacts in the way.
#pragma once

#include "diagnose/isolation.hpp"

namespace isthmus::diagnose {

// From the tip on channel i to the one on channel j of the other net the current passes i's contact,
// the bridge, and j's contact; where the wires themselves touch it passes neither. With another tip p
// on i's net the difference R(p,i) + R(i,j) - R(p,j) is twice i's contact in the one case and nothing
// in the other, whatever copper and bridge are. i and j are those that conduct best to the other net:
// every tip is asked, since any two wires may touch.
struct BridgingWires {
  std::vector<std::pair<Channel, Channel>> ask;  // resistances that are still wanted
  std::optional<ChannelPair> touching;
};
// Of two channels that were heard to conduct, and measured by current; four wires. Nothing is asked
// where none of both nets has a second tip, or one has more than kMostTips, or the placement has more
// than kMostBridges such pairs: that is no pair of wires.
BridgingWires bridging_wires(const expect::Board& board, const plan::Plan& plan,
                             const Evidence& evidence, std::size_t placement, const BadPair& bad);
inline constexpr std::size_t kMostTips = 64, kMostBridges = 12;

}  // namespace isthmus::diagnose
