// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "isthmus/plan/plan.hpp"
#include "plan/reach.hpp"

namespace isthmus::plan {
namespace {

// A lone tip with neither twin nor check proves nothing: it may hang in the air.
std::set<GroupId> provable_groups(const expect::Board& board, const Placement& placement,
                                  bool contact_check) {
  std::map<GroupId, std::size_t> tips;
  for (const Probe& probe : placement.probes) {
    const auto& group = board.expectation.point(probe.point).group;
    if (group) tips[*group] += contact_check || probe.twin ? 2u : 1u;
  }
  std::set<GroupId> groups;
  for (const auto& [group, n] : tips) {
    if (n > 1) groups.insert(group);
  }
  return groups;
}

}  // namespace

Shortfall shortfall_of(const expect::Board& board, const std::vector<Placement>& placements,
                       bool contact_check) {
  Shortfall s;
  s.contact_check = contact_check;
  for (const Untested& u : out_of_reach(board, placements)) {
    if (u.why.starts_with("not-tied"))
      ++s.split;
    else if (u.points.size() == 1)
      ++s.points;
  }
  std::vector<std::set<GroupId>> groups;
  for (const Placement& p : placements) groups.push_back(provable_groups(board, p, contact_check));
  for (const expect::Pair& pair : board.expectation.pairs) {
    if (!matters(board, pair.a) && !matters(board, pair.b)) continue;
    ++s.of;
    s.pairs += std::ranges::none_of(groups, [&](const std::set<GroupId>& here) {
      return here.contains(pair.a) && here.contains(pair.b);
    });
  }
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
