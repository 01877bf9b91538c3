// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/list.hpp"

#include <algorithm>

namespace isthmus::audit {
namespace {

constexpr double kReach = 0.5e6;  // nm

double to_path(const expect::PossibleFault& entry, const Segment& spot) {
  double nearest = closest(entry.at, spot).distance_nm;
  for (std::size_t i = 0; i + 1 < entry.path.size(); ++i) {
    const Segment part{entry.path[i], entry.path[i + 1]};
    nearest = std::min(nearest, closest(part, spot).distance_nm);
  }
  return nearest;
}

// A splash lies from one conductor to the other; all else at one place.
Segment spot_of(const Fault& fault, const Raster& raster) {
  if (fault.kind != FaultKind::splash) return {fault.at, fault.at};
  const auto& [a, b] = fault.joined.front();
  return {raster.grid.middle(a.cell.x, a.cell.y), raster.grid.middle(b.cell.x, b.cell.y)};
}

bool is_hole(expect::FaultKind k) {
  return k == expect::FaultKind::join || k == expect::FaultKind::link ||
         k == expect::FaultKind::ways;
}

bool speaks_of(const expect::PossibleFault& entry, const Fault& fault, const Raster& raster) {
  using expect::FaultKind;
  const bool same_side = entry.side == fault.side;
  const Segment spot = spot_of(fault, raster);
  if (fault.kind == audit::FaultKind::splash)
    return entry.kind == FaultKind::bridge && same_side && to_path(entry, spot) <= kReach;
  if (entry.kind == FaultKind::bridge) return false;
  if (!fault.emptied.empty()) {
    return is_hole(entry.kind) && std::ranges::any_of(fault.emptied, [&](std::size_t m) {
             const Metal& metal = raster.metals[m];
             const double rim = static_cast<double>(metal.diameter.value) / 2;
             return to_path(entry, {metal.at, metal.at}) <= kReach + rim;
           });
  }
  return (same_side || is_hole(entry.kind)) && to_path(entry, spot) <= kReach;
}

// The states of the entries, once the diagnosis gives them.
template <class Diagnosis>
bool named_by(const Diagnosis& diagnosis, const std::vector<expect::EntryId>& entries) {
  if constexpr (requires { diagnosis.states; }) {
    return std::ranges::any_of(entries, [&](expect::EntryId e) {
      const auto state = diagnosis.states.at(index(e));
      return state != expect::FaultState::excluded && state != expect::FaultState::harmless;
    });
  } else {
    return false;
  }
}

}  // namespace

std::vector<expect::EntryId> entries_at(const expect::FaultList& list, const Fault& fault,
                                        const Raster& raster) {
  std::vector<expect::EntryId> found;
  for (std::size_t i = 0; i < list.entries.size(); ++i) {
    if (speaks_of(list.entries[i], fault, raster)) found.push_back(static_cast<expect::EntryId>(i));
  }
  return found;
}

bool named(const diagnose::Diagnosis& diagnosis, const std::vector<expect::EntryId>& entries) {
  return named_by(diagnosis, entries);
}

}  // namespace isthmus::audit
