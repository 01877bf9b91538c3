// SPDX-License-Identifier: Apache-2.0
// The only place where the auditor looks at the program's list of possible faults, after its own
// faults are made and judged.
#pragma once

#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/audit/harm.hpp"

namespace isthmus::audit {

// Entries of the kind of fault, of its nets, on its side, within 0.5 mm of its place (of the rim, for
// holes); for parallel joins those of the copper they lead to.
std::vector<expect::EntryId> entries_at(const expect::Board& board, const Raster& raster,
                                        const Places& places, const Fault& fault, const Harm& harm);

// Whether the program says of one of these that it cannot tell, has found it, or leaves it out by
// name. What it calls excluded or harmless is not named.
bool named(const diagnose::Diagnosis& diagnosis, const std::vector<expect::EntryId>& entries);

}  // namespace isthmus::audit
