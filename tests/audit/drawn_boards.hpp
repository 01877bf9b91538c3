// SPDX-License-Identifier: Apache-2.0
// Boards of kinds that once passed although bad. As drawn each is good.
#pragma once

#include <string>
#include <vector>

#include "tests/audit/drawn_board.hpp"

namespace isthmus::audit {

// Two joined pins, and a track on below to a pad that only the bottom reaches.
DrawnBoard pins_and_a_pad_below();
// A trunk below between two vias, proven from above; a branch of it to one pad below, at (15, 10).
DrawnBoard branch_below();
// A pour below that hangs on the top copper by three wires, without a pad.
DrawnBoard pour_on_three_wires();
// Three pins tied above by a track and below by a pour: no lead is missed alone.
DrawnBoard pins_tied_twice();
// Two nets tied by a drawn track, cut at (10, 0) in the tests.
DrawnBoard drawn_tie();
// Two pins at the ends of one slot that nothing plates, tied by a track round it.
DrawnBoard slot_without_plating();
// Etched, to be joined: the netlist has no records of the vias.
DrawnBoard vias_without_records();

struct NamedBoard {
  std::string name;
  DrawnBoard (*draw)();
};
std::vector<NamedBoard> drawn_boards();

}  // namespace isthmus::audit
