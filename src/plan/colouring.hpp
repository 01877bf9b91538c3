// SPDX-License-Identifier: Apache-2.0
// Which groups may be tied together in an isolation test: a proper colouring of the pairs.
#pragma once

#include <cstddef>
#include <vector>

namespace isthmus::plan {

// Takes a graph as neighbour lists over 0..n-1 (no loops), gives a colour 0.. for each vertex such
// that neighbours differ. Smallest-degree-last greedy, then a bounded search for four colours,
// because the number of tests is ceil(log2 colours) (Harary, Hsu & Miller 1977: the biparticity of
// a graph).
std::vector<std::size_t> colour(const std::vector<std::vector<std::size_t>>& neighbours);

// Tests needed to separate `colours` colours: ceil(log2 colours); 0 for none or one.
std::size_t tests_for(std::size_t colours);

}  // namespace isthmus::plan
