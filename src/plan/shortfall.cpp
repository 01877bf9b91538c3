// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <set>

#include "isthmus/plan/plan.hpp"
#include "plan/ideal.hpp"
#include "plan/reach.hpp"

namespace isthmus::plan {
Shortfall shortfall_of(const expect::Board& board, const std::vector<Placement>& placements,
                       bool contact_check) {
  Shortfall s;
  s.contact_check = contact_check;
  for (const Untested& u : out_of_reach(board, placements, contact_check))
    s.points += u.points.size() == 1 && !u.why.starts_with("not-tied");
  const expect::Derived derived =
      expect::derive(board.faults.wiring, ideal_facts(board, placements, contact_check));
  std::set<std::pair<std::uint32_t, std::uint32_t>> pairs, open;
  std::set<std::uint32_t> split;
  for (std::size_t e = 0; e < derived.state.size(); ++e) {
    const expect::PossibleFault& f = board.faults.entries[e];
    const bool told = f.waived || derived.state[e] != expect::FaultState::cannot_tell;
    if (expect::is_break(f.kind)) {
      if (!told) split.insert(f.piece);
      continue;
    }
    pairs.insert(std::minmax(f.piece, f.other));
    if (!told) open.insert(std::minmax(f.piece, f.other));
  }
  s.split = split.size();
  s.pairs = open.size();
  s.of = pairs.size();
  return s;
}

std::string in_words(const Shortfall& s) {
  std::string text = "no run with this fixture can pass:";
  const char* by = " ";
  const auto add = [&](const std::string& words) {
    text += by + words;
    by = ", ";
  };
  if (s.pairs > 0)
    add(fmt::format("{} of {} pairs of nets can never be proven isolated", s.pairs, s.of));
  if (s.points > 0) add(fmt::format("{} point(s) have no probe", s.points));
  if (s.split > 0) add(fmt::format("{} net(s) are never tied together", s.split));
  return text;
}

std::string what_helps(const Shortfall& s) {
  if (s.pairs > 0 && !s.contact_check) {
    return s.channels > 0 && s.channels < 4
               ? "two nets with two tips each take four channels: --channels 4 or more; or "
                 "--contact-check, if the adapter has one"
               : "twin tips, or contact-check if the adapter has one; or a second point of each "
                 "net";
  }
  return "see isthmus plan BOARD --fixture F for the nets; more placements, or other points of "
         "them";
}

}  // namespace isthmus::plan
