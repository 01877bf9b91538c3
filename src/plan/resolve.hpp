// SPDX-License-Identifier: Apache-2.0
// From the names in a fixture to the points under the probes.
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Checks that the fixture was made for this board, and finds what each probe touches.
Result<std::vector<Placement>> resolve_placements(const expect::Board& board,
                                                  const formats::FixtureFile& fixture,
                                                  Diagnostics& notes);

}  // namespace isthmus::plan
