// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/expect/board.hpp"

namespace isthmus::expect {

// The netlist that the copper itself makes at the board's stage: each piece of copper, through the
// joins and links that conduct, is one net with all its points. It keeps the name of its points'
// net where that name is in no other piece and no other name is in this one; else a name is made
// ("COPPER-7"). Points without copper are left out: copper says nothing of them.
formats::Netlist netlist_of_copper(const Board& board);

}  // namespace isthmus::expect
