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

// By group: one net on one piece of copper, whatever the nets are called.
inline Partition partition(const expect::Expectation& e) {
  Partition all;
  for (const expect::Group& g : e.groups) {
    PointIds ids;
    for (const PointId p : g.points) ids.insert(e.point(p).id);
    all.insert(ids);
  }
  return all;
}

// By piece of copper, whatever the nets are.
inline Partition partition_by_copper(const expect::Expectation& e) {
  std::map<IslandId, PointIds> pieces;  // by first island
  for (const expect::Group& g : e.groups) {
    for (const PointId p : g.points) pieces[g.islands.front()].insert(e.point(p).id);
  }
  Partition all;
  for (const auto& [island, ids] : pieces) all.insert(ids);
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
