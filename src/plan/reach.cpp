// SPDX-License-Identifier: Apache-2.0
#include "plan/reach.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "plan/make_fixture_sides.hpp"

namespace isthmus::plan {
namespace {

bool matters(const expect::Point& point) { return point.required && !point.waived; }

class Reach {
 public:
  Reach(const expect::Board& board, const std::vector<Placement>& placements) : board_(board) {
    for (const Placement& p : placements) {
      std::set<GroupId> groups;
      std::map<GroupId, End> first;
      for (const Probe& probe : p.probes) {
        const expect::Point& point = board.expectation.point(probe.point);
        if (!point.group) continue;
        const End end{probe.point, probe.side == Side::bottom};
        parent_.emplace(end, end);
        groups.insert(*point.group);
        const auto [hub, fresh] = first.emplace(*point.group, end);
        if (!fresh) unite(hub->second, end);
      }
      for (GroupId a : groups) {
        for (GroupId b : groups) {
          if (a < b) met_.insert({a, b});
        }
      }
    }
    for (std::size_t g = 0; g < board.expectation.groups.size(); ++g) {
      tie_sides(GroupId{static_cast<std::uint32_t>(g)});
    }
  }

  [[nodiscard]] std::vector<Untested> report() const {
    std::vector<Untested> list;
    for (std::size_t i = 0; i < board_.expectation.points.size(); ++i) {
      const PointId id{static_cast<std::uint32_t>(i)};
      const expect::Point& point = board_.expectation.point(id);
      if (!matters(point)) continue;
      if (!point.group) {
        list.push_back({point.net, {point.id}, "no copper in the artwork"});
      } else if (!parent_.contains({id, false}) && !parent_.contains({id, true})) {
        list.push_back({point.net, {point.id}, "not-reached: no probe"});
      }
    }
    for (const expect::Group& group : board_.expectation.groups) report_split(group, list);
    for (const expect::Pair& pair : board_.expectation.pairs) report_pair(pair, list);
    return list;
  }

 private:
  using End = std::pair<PointId, bool>;  // a point, touched from below or not

  [[nodiscard]] End root(End e) const {
    for (auto it = parent_.find(e); it->second != e; it = parent_.find(e)) e = it->second;
    return e;
  }
  void unite(End a, End b) {
    a = root(a), b = root(b);
    if (a != b) parent_[std::max(a, b)] = std::min(a, b);
  }

  void tie_sides(GroupId group) {
    std::map<End, std::vector<PointId>> top, bottom;
    for (PointId p : board_.expectation.group(group).points) {
      if (parent_.contains({p, false})) top[root({p, false})].push_back(p);
      if (parent_.contains({p, true})) bottom[root({p, true})].push_back(p);
    }
    for (const auto& [a, above] : top) {
      for (const auto& [b, below] : bottom) {
        if (sides_hang_together(board_, group, above, below)) unite(a, b);
      }
    }
  }

  void report_split(const expect::Group& group, std::vector<Untested>& into) const {
    std::map<End, std::string> roots;
    for (PointId p : group.points) {
      if (!matters(board_.expectation.point(p))) continue;
      for (const bool below : {false, true}) {
        if (parent_.contains({p, below}))
          roots.emplace(root({p, below}), board_.expectation.point(p).id);
      }
    }
    if (roots.size() < 2) return;
    Untested u{group.net, {}, "not-tied: no placement ties these together"};
    for (const auto& [end, id] : roots) u.points.push_back(id);
    into.push_back(std::move(u));
  }

  void report_pair(const expect::Pair& pair, std::vector<Untested>& into) const {
    if (met_.contains({pair.a, pair.b})) return;
    const auto& a = board_.expectation.group(pair.a);
    const auto& b = board_.expectation.group(pair.b);
    const auto needed = [&](const expect::Group& g) {
      return std::ranges::any_of(g.points,
                                 [&](PointId p) { return matters(board_.expectation.point(p)); });
    };
    if (!needed(a) && !needed(b)) return;
    into.push_back(
        {a.net,
         {board_.expectation.point(a.points[0]).id, board_.expectation.point(b.points[0]).id},
         fmt::format("not-reached: no placement probes {} and {} together", a.net, b.net)});
  }

  const expect::Board& board_;
  std::map<End, End> parent_;
  std::set<std::pair<GroupId, GroupId>> met_;
};

}  // namespace

std::vector<Untested> out_of_reach(const expect::Board& board,
                                   const std::vector<Placement>& placements) {
  return Reach(board, placements).report();
}

bool matters(const expect::Board& board, GroupId g) {
  return std::ranges::any_of(board.expectation.group(g).points,
                             [&](PointId p) { return matters(board.expectation.point(p)); });
}

}  // namespace isthmus::plan
