// SPDX-License-Identifier: Apache-2.0
// How many isolation tests tell groups apart.
#pragma once

#include <cstddef>

namespace isthmus::plan {

// Tests needed to separate `colours` colours: ceil(log2 colours); 0 for none or one (Harary, Hsu &
// Miller 1977: the biparticity of a graph).
std::size_t tests_for(std::size_t colours);

}  // namespace isthmus::plan
