// SPDX-License-Identifier: Apache-2.0
// The landings of one round: as long as its clips stay.
#pragma once

#include <span>

#include "plan/hand/choose_clips.hpp"

namespace isthmus::plan::hand {

// How a needle proves that it touches copper that no clip holds.
enum class Proof {
  itself,      // contact check, or the one needle is forked
  fork,        // the first of two is forked
  each_other,  // two single tips on one piece
  none
};
Proof proof_of(const HandMeans& means);

// Whether two pieces without clips can be read to each other.
inline bool can_meet(const HandMeans& means) {
  return means.needles == 2 && (means.contact_check || means.forked);
}

// First a landing on each clipped piece, by which the clips are learned; then what two needles do
// between them; then all other places in a short way; at last, where a clip is relied upon only
// between two proofs, each clipped piece again.
std::vector<Touch> make_touches(const expect::Board& board, const HandMeans& means,
                                const Demand& demand, const Needs& needs,
                                const std::vector<HandClip>& clips,
                                const std::optional<Place>& from);

}  // namespace isthmus::plan::hand
