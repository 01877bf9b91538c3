// SPDX-License-Identifier: Apache-2.0
// What hangs together, by the names of the points alone: comparable between boards.
#pragma once

#include <map>
#include <set>
#include <string>

#include "isthmus/expect/expectation.hpp"

namespace isthmus::test {

using PointIds = std::set<std::string>;
using Partition = std::set<PointIds>;

// The points of a group that records name. Others are named by their place, which a copy moves, and
// where a pour is widest is found to a fraction of a millimetre.
inline PointIds listed_points(const expect::Expectation& e, const expect::Group& g) {
  PointIds ids;
  for (const PointId p : g.points) {
    if (!e.point(p).unlisted) ids.insert(e.point(p).id);
  }
  return ids;
}

// By group: one net on one piece of copper, whatever the nets are called.
inline Partition partition(const expect::Expectation& e) {
  Partition all;
  for (const expect::Group& g : e.groups) all.insert(listed_points(e, g));
  all.erase(PointIds{});
  return all;
}

// By piece of copper, whatever the nets are.
inline Partition partition_by_copper(const expect::Expectation& e) {
  std::map<IslandId, PointIds> pieces;  // by first island
  for (const expect::Group& g : e.groups) {
    pieces[g.islands.front()].merge(listed_points(e, g));
  }
  Partition all;
  for (const auto& [island, ids] : pieces) all.insert(ids);
  all.erase(PointIds{});
  return all;
}

// Disagreements that speak of the copper's connections.
inline std::size_t contradictions(const expect::Expectation& e) {
  std::size_t n = 0;
  for (const expect::Disagreement& d : e.disagreements) {
    n += d.kind == expect::DisagreementKind::open || d.kind == expect::DisagreementKind::bridge ||
         d.kind == expect::DisagreementKind::no_copper;
  }
  return n;
}

}  // namespace isthmus::test
