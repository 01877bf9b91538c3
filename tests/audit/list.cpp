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

// All ways to a piece of copper: the entry stands at a place of that copper, far from any hole.
bool is_way_to(const expect::PossibleFault& entry, const Fault& fault, const Raster& raster) {
  const auto cell = raster.nearest(static_cast<std::int32_t>(index(entry.layer)), entry.at, kReach);
  if (entry.kind != expect::FaultKind::ways || !cell) return false;
  const Label island = raster.island[raster.run_at(*cell)];
  return std::ranges::any_of(fault.emptied, [&](std::size_t m) {
    return std::ranges::any_of(raster.metals[m].feet,
                               [&](const Span& foot) { return raster.island[foot.run] == island; });
  });
}

bool speaks_of(const expect::PossibleFault& entry, const Fault& fault, const Raster& raster) {
  using expect::FaultKind;
  const bool same_side = entry.side == fault.side;
  const Segment spot = spot_of(fault, raster);
  if (fault.kind == audit::FaultKind::splash)
    return entry.kind == FaultKind::bridge && same_side && to_path(entry, spot) <= kReach;
  if (entry.kind == FaultKind::bridge) return false;
  if (fault.kind == audit::FaultKind::ways && is_way_to(entry, fault, raster)) return true;
  if (!fault.emptied.empty()) {
    return is_hole(entry.kind) && std::ranges::any_of(fault.emptied, [&](std::size_t m) {
             const Metal& metal = raster.metals[m];
             const double rim = static_cast<double>(metal.diameter.value) / 2;
             return to_path(entry, {metal.at, metal.at}) <= kReach + rim;
           });
  }
  return (same_side || is_hole(entry.kind)) && to_path(entry, spot) <= kReach;
}

// Copper without a named net on either account could be anything.
bool is_of(const expect::Board& board, std::uint32_t piece, const std::set<std::string>& nets) {
  const auto& groups = board.faults.groups_of_piece[piece];
  return groups.empty() || nets.empty() || std::ranges::any_of(groups, [&](GroupId g) {
           return nets.contains(board.expectation.group(g).net);
         });
}

bool same_nets(const expect::Board& board, const expect::PossibleFault& entry, const Places& places,
               const std::vector<Label>& conductors) {
  const auto of = [&](std::uint32_t piece, std::size_t i) {
    return is_of(board, piece, places.nets[conductors[i]]);
  };
  if (entry.kind != expect::FaultKind::bridge) {
    for (std::size_t i = 0; i < conductors.size(); ++i) {
      if (of(entry.piece, i)) return true;
    }
    return false;
  }
  if (conductors.size() != 2) return true;
  return (of(entry.piece, 0) && of(entry.other, 1)) || (of(entry.piece, 1) && of(entry.other, 0));
}

}  // namespace

std::vector<expect::EntryId> entries_at(const expect::Board& board, const Raster& raster,
                                        const Places& places, const Fault& fault,
                                        const Harm& harm) {
  std::vector<expect::EntryId> found;
  for (std::size_t i = 0; i < board.faults.entries.size(); ++i) {
    const expect::PossibleFault& entry = board.faults.entries[i];
    if (speaks_of(entry, fault, raster) && same_nets(board, entry, places, harm.conductors))
      found.push_back(static_cast<expect::EntryId>(i));
  }
  return found;
}

bool named(const diagnose::Diagnosis& diagnosis, const std::vector<expect::EntryId>& entries) {
  return std::ranges::any_of(entries, [&](expect::EntryId e) {
    const expect::FaultState state = diagnosis.states.at(index(e));
    return state != expect::FaultState::excluded && state != expect::FaultState::harmless;
  });
}

}  // namespace isthmus::audit
