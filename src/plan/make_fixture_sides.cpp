// SPDX-License-Identifier: Apache-2.0
#include "plan/make_fixture_sides.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace isthmus::plan {
namespace {

using Islands = std::set<IslandId>;

Islands touched(const expect::Board& board, const std::vector<PointId>& points, bool top) {
  Islands out;
  for (const PointId id : points) {
    const auto& islands = board.expectation.point(id).islands;
    if (islands.empty()) continue;
    const auto& island = top ? islands.front() : islands.back();
    if (island) out.insert(*island);
  }
  return out;
}

// The copper of one piece with some of it taken away.
class Remaining {
 public:
  Remaining(const expect::Board& board, GroupId group, const Islands& without) {
    for (const IslandId island : board.expectation.group(group).islands) {
      if (!without.contains(island)) root_[island] = island;
    }
    for (const expect::Join& join : board.expectation.joins) {
      if (!join.conducts) continue;
      for (std::size_t i = 0; i < join.islands.size(); ++i) {
        for (std::size_t k = i + 1; k < join.islands.size(); ++k) {
          unite(join.islands[i], join.islands[k]);
        }
      }
    }
    for (const expect::Link& link : board.expectation.links) unite(link.from, link.to);
  }

  [[nodiscard]] bool apart(const Islands& islands) const {
    Islands roots;
    for (const IslandId island : islands) {
      if (root_.contains(island)) roots.insert(root(island));
    }
    return roots.size() > 1;
  }

 private:
  [[nodiscard]] IslandId root(IslandId i) const {
    while (root_.at(i) != i) i = root_.at(i);
    return i;
  }
  void unite(IslandId a, IslandId b) {
    if (!root_.contains(a) || !root_.contains(b)) return;
    a = root(a);
    b = root(b);
    root_[std::max(a, b)] = std::min(a, b);
  }
  std::map<IslandId, IslandId> root_;
};

}  // namespace

namespace {

constexpr std::size_t kMostPaired = 12;  // holes tried two by two: 66 pairs a side

void add(std::vector<PointId>& list, PointId p) {
  const auto at = std::lower_bound(list.begin(), list.end(), p);
  if (at == list.end() || *at != p) list.insert(at, p);
}

// Ways to touch more holes, cheapest first.
std::vector<Sides> ways_to_add(const std::vector<PointId>& holes) {
  std::vector<Sides> ways{{}};
  for (const PointId p : holes) {
    ways.push_back({{p}, {}});
    ways.push_back({{}, {p}});
  }
  for (std::size_t i = 0; i < std::min(holes.size(), kMostPaired); ++i) {
    for (std::size_t k = i + 1; k < std::min(holes.size(), kMostPaired); ++k) {
      ways.push_back({{holes[i], holes[k]}, {}});
      ways.push_back({{}, {holes[i], holes[k]}});
    }
    ways.push_back({{holes[i]}, {holes[i]}});
  }
  ways.push_back({holes, holes});
  return ways;
}

}  // namespace

Sides tie_sides(const expect::Board& board, GroupId group, const Sides& laid,
                const std::vector<PointId>& holes) {
  const auto with = [&](const Sides& more) {
    Sides sides = laid;
    for (const PointId p : more.top) add(sides.top, p);
    for (const PointId p : more.bottom) add(sides.bottom, p);
    return sides;
  };
  if (holes.empty()) return laid;
  for (const Sides& more : ways_to_add(holes)) {
    Sides sides = with(more);
    if (sides.top.empty() || sides.bottom.empty()) continue;
    if (sides_hang_together(board, group, sides.top, sides.bottom)) return sides;
  }
  return with({{holes.front()}, {holes.front()}});
}

bool sides_hang_together(const expect::Board& board, GroupId group,
                         const std::vector<PointId>& from_top,
                         const std::vector<PointId>& from_bottom) {
  if (from_top.empty() || from_bottom.empty()) return true;
  const Islands top = touched(board, from_top, true);
  const Islands bottom = touched(board, from_bottom, false);
  if (Remaining(board, group, bottom).apart(top)) return true;
  if (Remaining(board, group, top).apart(bottom)) return true;
  const auto& islands = board.expectation.group(group).islands;
  return std::any_of(islands.begin(), islands.end(), [&](IslandId island) {
    const Remaining rest(board, group, {island});
    return (top.contains(island) || rest.apart(top)) &&
           (bottom.contains(island) || rest.apart(bottom));
  });
}

}  // namespace isthmus::plan
