// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "tests/random_boards/truth.hpp"

namespace isthmus::random_boards {

// The piece that a tip touches there; nothing where no copper is. Over a joined hole it touches the
// metal in it on boards with an even seed, that side's ring on the others: both happen.
std::optional<std::size_t> touched(const RandomBoard& board, const Network& network, Pt at,
                                   std::size_t layer);

}  // namespace isthmus::random_boards
