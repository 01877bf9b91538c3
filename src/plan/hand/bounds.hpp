// SPDX-License-Identifier: Apache-2.0
// How few landings could do, with these clips and with any.
#pragma once

#include "plan/hand/make_round.hpp"

namespace isthmus::plan::hand {

// Each place is touched or under a clip. A landing makes two places of pieces without a clip meet
// once at most, and the first one on a set of such pieces that hang together by pairs makes none.
// Source: docs/guide.md.
std::size_t bound_with(const expect::Board& board, const Demand& demand, const HandMeans& means,
                       const std::vector<Round>& rounds);
// The same with `clips` clips a round on whatever pieces they serve best, each on up to
// `pieces_a_clip` of them.
std::size_t bound_without(const Demand& demand, const HandMeans& means, std::size_t clips,
                          std::size_t rounds, std::size_t pieces_a_clip);

std::set<PieceId> clipped_pieces(const expect::Board& board, const std::vector<HandClip>& clips);

struct Minutes {
  double low{}, high{};
};
// By the paces of docs/guide.md.
Minutes minutes_of(const Demand& demand, const std::vector<Round>& rounds);

}  // namespace isthmus::plan::hand
