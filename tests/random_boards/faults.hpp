// SPDX-License-Identifier: Apache-2.0
// One to three faults at random, each with room, so that it does what it says and nothing else.
#pragma once

#include <string>
#include <vector>

#include "tests/random_boards/truth.hpp"

namespace isthmus::random_boards {

// May give fewer than n where none more fits. In half of those with several, later ones are drawn
// on what the earlier ones parted or joined.
std::vector<Fault> draw_faults(const RandomBoard& board, Rng& rng, std::size_t n);

// The faults of this seed's second board (of the `set`th), always the same: one time in five they
// should be harmless.
std::vector<Fault> faults_of(const RandomBoard& board, std::uint64_t set = 0);

// Opens and bridges as an etched twin's artwork shows them; missing joins it cannot show.
std::vector<Blot> blots_of(const std::vector<Fault>& faults);

// A scenario for isthmus-sim with these faults on this board (board.yaml beside it).
std::string scenario_of(const RandomBoard& board, const std::vector<Fault>& faults);
// In words, on one line.
std::string in_words(const RandomBoard& board, const Fault& fault);

}  // namespace isthmus::random_boards
