// SPDX-License-Identifier: Apache-2.0
// What wire jumpers are laid over.
#pragma once

#include <vector>

#include "expect/holes/joins.hpp"

namespace isthmus::expect {

// A wire lies on its side of the board from end to end: what comes within the window of it, or is
// crossed by it, could be bridged to it. One gap from the copper at each of its ends, since it hangs
// on either when the other comes off; the distance is from the wire's surface. Wires over each other
// are gaps between their ends.
//
// Shape   a gap a pair of islands and wire end; of kind `wire`, `foot` where the wire is soldered.
std::vector<copper::Gap> link_gaps(const Ground& ground, const std::vector<Link>& links);

}  // namespace isthmus::expect
