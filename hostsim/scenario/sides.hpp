// SPDX-License-Identifier: Apache-2.0
// From which side a probe or clip comes down, by the simulator's own reading of fixture.yaml.
#pragma once

#include <vector>

#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::hostsim {

// Its `side`; else a probe comes from its plate, between two plates from its pad's own side or from
// the top; a clip from behind the plate, or from the plate's side where its pad is there alone.
// The sides it may come from, the first that has its pad counts.
std::vector<Side> sides_to_try(const formats::PlacementEntry& placement,
                               const formats::ProbeEntry& probe);

// `pad` both: it can be touched from either side, or nobody knows.
Side touching_side(const formats::PlacementEntry& placement, const formats::ProbeEntry& probe,
                   Side pad);

}  // namespace isthmus::hostsim
