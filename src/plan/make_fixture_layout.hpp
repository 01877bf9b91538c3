// SPDX-License-Identifier: Apache-2.0
// Spreads the points of one side over as few placements as it finds.
#pragma once

#include <utility>
#include <vector>

#include "isthmus/plan/plan.hpp"
#include "plan/spots.hpp"

namespace isthmus::plan {

// What has to be probed from one side. Groups by GroupId.
struct SideDemand {
  Side side{Side::top};
  std::vector<std::vector<SpotId>> wanted;  // spots to prove; a group's spots must be tied together
  std::vector<std::vector<SpotId>> usable;  // all that may prove a contact, wanted ones first
  std::vector<std::pair<std::size_t, std::size_t>> pairs;  // must meet; both have wanted points
  Spots spots;
};

struct LaidPoint {
  SpotId spot{};
  bool twin{false};
};
using Laid = std::vector<LaidPoint>;  // ascending by spot

// Every wanted point is laid; the wanted points of one group hang together over the placements
// through shared points; every pair meets, with both contacts provable, unless the channels are too
// few for two provable contacts. Points whose spots clash are laid in different placements, unless
// a group or a pair has no others. The fewest placements of several greedy runs; the first run wins
// ties.
std::vector<Laid> lay_out(const SideDemand& demand, const FixtureWish& wish);

}  // namespace isthmus::plan
