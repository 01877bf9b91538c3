// SPDX-License-Identifier: Apache-2.0
#include <set>

#include "isthmus/plan/plan.hpp"
#include "plan/ideal.hpp"
#include "plan/reach.hpp"

namespace isthmus::plan {
Shortfall shortfall_of(const expect::Board& board, const std::vector<Placement>& placements,
                       bool contact_check) {
  Shortfall s;
  s.contact_check = contact_check;
  const expect::Derived derived =
      expect::derive(board.faults.wiring, ideal_facts(board, placements, contact_check));
  const std::vector<bool> no_touch = expect::told_by_no_touch(board.faults.wiring);
  for (const Untested& u : out_of_reach(board, placements, derived, no_touch))
    s.points += u.points.size() == 1 && !u.why.starts_with("not-tied");
  std::set<std::pair<std::uint32_t, std::uint32_t>> pairs, open, untouchable;
  std::set<std::uint32_t> split;
  for (std::size_t e = 0; e < derived.state.size(); ++e) {
    const expect::PossibleFault& f = board.faults.entries[e];
    const bool told = f.waived || derived.state[e] != expect::FaultState::cannot_tell;
    if (expect::is_break(f.kind)) {
      if (!told && no_touch[e])
        ++s.no_touch_breaks;
      else if (!told)
        split.insert(f.piece);
      continue;
    }
    pairs.insert(std::minmax(f.piece, f.other));
    if (!told) (no_touch[e] ? untouchable : open).insert(std::minmax(f.piece, f.other));
  }
  for (const auto& pair : untouchable) s.no_touch_pairs += !open.contains(pair);
  s.split = split.size();
  s.pairs = open.size();
  s.of = pairs.size();
  return s;
}

}  // namespace isthmus::plan
