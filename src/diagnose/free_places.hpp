// SPDX-License-Identifier: Apache-2.0
// Where else a needle could land while these clips sit.
#pragma once

#include <algorithm>
#include <set>
#include <vector>

#include "isthmus/expect/board.hpp"
#include "isthmus/plan/plan.hpp"

namespace isthmus::diagnose {

// Borrows the board.
class FreePlaces {
 public:
  FreePlaces(const expect::Board& board, const plan::Placement& landing) : board_(board) {
    for (const plan::Probe& p : landing.probes) {
      if (p.clip) clipped_.insert(p.point);
    }
  }
  [[nodiscard]] std::optional<GroupId> group(PointId p) const {
    return board_.expectation.point(p).group;
  }
  [[nodiscard]] bool clipped(GroupId g) const {
    return std::ranges::any_of(clipped_, [&](PointId p) { return group(p) == g; });
  }
  // Of that group, without clips on them and without `but`.
  [[nodiscard]] std::vector<PointId> of(const std::optional<GroupId>& g, PointId but) const {
    std::vector<PointId> list;
    if (!g) return list;
    for (const PointId p : board_.expectation.group(*g).points) {
      if (p != but && !clipped_.contains(p)) list.push_back(p);
    }
    return list;
  }
  // From which what a needle heard there of a clip on the other net would be heard as well: elsewhere
  // on its own net, and, where that has a clip, on the other one.
  [[nodiscard]] std::vector<PointId> that_hear(PointId at, PointId clip_at) const {
    std::vector<PointId> list = of(group(at), at);
    const auto own = group(at);
    if (own && clipped(*own)) {
      for (const PointId p : of(group(clip_at), at)) list.push_back(p);
    }
    return list;
  }

 private:
  const expect::Board& board_;
  std::set<PointId> clipped_;
};

}  // namespace isthmus::diagnose
