// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string_view>

namespace isthmus {

// How many characters must be added, taken away or changed to make one text of the other.
//
// Shape   0 for equal texts; swapping the two keeps it. Bytes are compared, not letters.
// Errors  None.
// Cost    O(|a| |b|) steps, O(|b|) memory.
std::size_t edit_distance(std::string_view a, std::string_view b);

}  // namespace isthmus
