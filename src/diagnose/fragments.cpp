// SPDX-License-Identifier: Apache-2.0
#include "diagnose/fragments.hpp"

#include <algorithm>

namespace isthmus::diagnose {
namespace {

const plan::Probe* probe_on(const plan::Placement& placement, Channel channel) {
  for (const plan::Probe& p : placement.probes) {
    if (p.channel == channel) return &p;
  }
  return nullptr;
}

}  // namespace

Fragments::Fragments(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence)
    : board_(board), plan_(plan), evidence_(evidence) {
  const std::size_t n = board.expectation.points.size();
  parent_.resize(n);
  for (std::size_t i = 0; i < n; ++i) parent_[i] = PointId{static_cast<std::uint32_t>(i)};
  measured_.assign(n, false);
  doubtful_.assign(n, false);
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const plan::Probe& probe : plan.placements[p].probes) {
      if (evidence.touch(p, probe.channel) == Touch::proven) measured_[index(probe.point)] = true;
    }
    for (const auto& [pair, heard] : evidence.heard(p)) {
      const plan::Probe* a = probe_on(plan.placements[p], pair.first);
      const plan::Probe* b = probe_on(plan.placements[p], pair.second);
      if (!a || !b) continue;
      if (heard.contradicts()) doubtful_[index(b->point)] = doubtful_[index(a->point)] = true;
      if (!heard.conducts()) continue;
      measured_[index(a->point)] = measured_[index(b->point)] = true;
      const PointId ra = root(a->point), rb = root(b->point);
      if (ra != rb) parent_[index(std::max(ra, rb))] = std::min(ra, rb);
    }
  }
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : evidence.heard(p)) {
      const plan::Probe* a = probe_on(plan.placements[p], pair.first);
      const plan::Probe* b = probe_on(plan.placements[p], pair.second);
      if (!a || !b || !heard.apart()) continue;
      if (evidence.touch(p, a->channel) != Touch::proven ||
          evidence.touch(p, b->channel) != Touch::proven)
        continue;
      const PointId ra = root(a->point), rb = root(b->point);
      // Conducts by another way, and not by this one: one of the two readings is wrong.
      if (ra == rb)
        doubtful_[index(a->point)] = doubtful_[index(b->point)] = true;
      else
        apart_.insert({std::min(ra, rb), std::max(ra, rb)});
    }
  }
}

PointId Fragments::root(PointId p) const {
  while (parent_[index(p)] != p) p = parent_[index(p)];
  return p;
}

bool Fragments::apart(PointId a, PointId b) const {
  const PointId ra = root(a), rb = root(b);
  return apart_.contains({std::min(ra, rb), std::max(ra, rb)});
}

std::vector<std::vector<PointId>> Fragments::of_group(GroupId g) const {
  std::map<PointId, std::vector<PointId>> by_root;
  for (PointId p : board_.expectation.group(g).points) {
    if (measured(p)) by_root[root(p)].push_back(p);
  }
  std::vector<std::vector<PointId>> list;
  for (auto& [r, points] : by_root) list.push_back(std::move(points));
  std::ranges::sort(list);
  return list;
}

std::vector<LocalFragment> Fragments::in_placement(std::size_t placement) const {
  std::map<std::pair<GroupId, PointId>, std::vector<std::size_t>> by_root;
  const auto& probes = plan_.placements[placement].probes;
  for (std::size_t i = 0; i < probes.size(); ++i) {
    const auto& group = board_.expectation.point(probes[i].point).group;
    if (!group || evidence_.touch(placement, probes[i].channel) == Touch::missing) continue;
    by_root[{*group, root(probes[i].point)}].push_back(i);
  }
  std::vector<LocalFragment> list;
  for (auto& [key, indices] : by_root) list.push_back({key.first, key.second, std::move(indices)});
  return list;
}

}  // namespace isthmus::diagnose
