// SPDX-License-Identifier: Apache-2.0
#include "plan/close_tips.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "plan/spots.hpp"

namespace isthmus::plan {
namespace {

struct Tip {
  std::string point;
  Position at;
  Side side;  // both: not known
};

bool meet(const Tip& a, const Tip& b) {
  return a.side == b.side || a.side == Side::both || b.side == Side::both;
}

struct Close {
  const Tip *a, *b;
  double distance;
};

// Ascending by distance, then in the order of the tips.
std::vector<Close> closer_than(const std::vector<Tip>& tips, Nanometres reach) {
  std::vector<Close> list;
  for (std::size_t i = 0; i < tips.size(); ++i) {
    for (std::size_t j = i + 1; j < tips.size(); ++j) {
      const double d = distance_nm(tips[i].at, tips[j].at);
      if (d < static_cast<double>(reach.value) && meet(tips[i], tips[j]) &&
          tips[i].point != tips[j].point)
        list.push_back({&tips[i], &tips[j], d});
    }
  }
  std::ranges::stable_sort(list, {}, &Close::distance);
  return list;
}

std::string names_of(const std::vector<Close>& list) {
  constexpr std::size_t kMost = 8;
  std::string text;
  for (std::size_t i = 0; i < std::min(list.size(), kMost); ++i) {
    text += fmt::format("{}{} and {} ({:.2f} mm)", i ? ", " : "", list[i].a->point,
                        list[i].b->point, list[i].distance / 1e6);
  }
  if (list.size() > kMost) text += fmt::format(" and {} more", list.size() - kMost);
  return text;
}

std::string pairs(std::size_t n) {
  return fmt::format("{} {} of tips", n, n == 1 ? "pair" : "pairs");
}

}  // namespace

void warn_of_thin_walls(const formats::FixtureFile& fixture, Diagnostics& notes) {
  const Nanometres clearance = clearance_of(fixture.tip_diameter);
  for (const formats::PlacementEntry& placement : fixture.placements) {
    std::vector<Tip> tips;
    for (const auto& [channel, probe] : placement.probes) {
      if (probe.at && !probe.clip)
        tips.push_back({probe.point, *probe.at, probe.side.value_or(placement.side)});
    }
    const std::vector<Close> list = closer_than(tips, clearance);
    if (list.empty()) continue;
    notes.warn(
        {"", 0, 0, "PLN-103",
         fmt::format("placement {}: {} closer than {:.2f} mm, their holes run together: {}",
                     placement.name, pairs(list.size()), to_mm(clearance.value), names_of(list)),
         "use finer tips there, or move one of each pair to a placement of its own", ""});
  }
}

void warn_of_touching_tips(const expect::Board& board, const formats::FixtureFile& fixture,
                           const std::vector<Placement>& placements, Diagnostics& notes) {
  for (const Placement& placement : placements) {
    std::vector<Tip> tips;
    for (const Probe& probe : placement.probes)
      tips.push_back({board.expectation.point(probe.point).id, probe.at, probe.side});
    const std::vector<Close> list = closer_than(tips, fixture.tip_diameter);
    if (list.empty()) continue;
    notes.warn(
        {fixture.path.string(), 0, 0, "PLN-008",
         fmt::format("placement {}: {} closer than a tip's diameter of {:.2f} mm touch each "
                     "other: {}",
                     placement.name, pairs(list.size()), to_mm(fixture.tip_diameter.value),
                     names_of(list)),
         "touch long pads near opposite ends ({point: ..., at: [x, y]}), or move one of each "
         "pair to another placement",
         ""});
  }
}

}  // namespace isthmus::plan
