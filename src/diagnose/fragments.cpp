// SPDX-License-Identifier: Apache-2.0
#include "diagnose/fragments.hpp"

#include <algorithm>

#include "diagnose/facts.hpp"

namespace isthmus::diagnose {

Fragments::Fragments(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
                     const TouchedNodes& nodes)
    : board_(board),
      plan_(plan),
      evidence_(evidence),
      points_(board.expectation.points.size()),
      sets_(2 * points_),
      touched_(2 * points_, false) {
  measured_.assign(points_, false);
  doubtful_.assign(points_, false);
  note_touches();
  const std::vector<HeardEnds> heard = all_heard(nodes);
  for (const HeardEnds& h : heard) {
    if (h.heard->contradicts()) doubtful_[index(h.a->point)] = doubtful_[index(h.b->point)] = true;
    if (!h.heard->conducts()) continue;
    measured_[index(h.a->point)] = measured_[index(h.b->point)] = true;
    if (h.either) continue;
    touched_[h.from] = touched_[h.to] = true;
    sets_.unite(h.from, h.to);
  }
  tie_sides(nodes);
  const std::map<std::pair<End, End>, Landings> by_hand = landings_of(heard);
  for (const auto& [ends, all] : by_hand) {
    if (all.apart() || all.doubtful()) high_by_hand_.insert(ends);
  }
  for (const HeardEnds& h : heard) {
    if (h.by_hand && h.heard->highs > 0) note_again(h, by_hand.at(std::minmax(h.from, h.to)));
    if (h.by_hand) {
      const Landings& all = by_hand.at(std::minmax(h.from, h.to));
      if (all.doubtful()) doubtful_[index(h.a->point)] = doubtful_[index(h.b->point)] = true;
      if (!all.apart()) continue;
    } else if (!h.heard->apart() || !h.contacts_proven) {
      continue;
    }
    const End a = root(h.from), b = root(h.to);
    // Conducts by another way, and not by this one: one of the two readings is wrong.
    if (a == b) {
      doubtful_[index(h.a->point)] = doubtful_[index(h.b->point)] = true;
    } else {
      apart_.insert(std::minmax(a, b));
    }
  }
}

void Fragments::note_again(const HeardEnds& h, const Landings& all) {
  if (all.apart()) return;
  if (all.conduct > 0 && !all.doubtful()) return;
  Again again{h.a->point, std::nullopt};
  if (h.a->clip) again.at = h.b->point;
  if (!h.a->clip && !h.b->clip) again.beside = h.b->point;
  if (std::ranges::find(again_, again) == again_.end()) again_.push_back(again);
}

// Landings that heard two ends, one by one: a needle may stand beside its pad, or on tarnish.
std::map<std::pair<Fragments::End, Fragments::End>, Fragments::Landings> Fragments::landings_of(
    const std::vector<HeardEnds>& heard) {
  std::map<std::pair<End, End>, Landings> list;
  for (const HeardEnds& h : heard) {
    if (!h.by_hand) continue;
    Landings& all = list[std::minmax(h.from, h.to)];
    if (h.heard->conducts()) ++all.conduct;
    if (h.heard->highs > 0 && h.heard->lows.empty() && h.contacts_proven) ++all.high;
  }
  return list;
}

Fragments::End Fragments::end(const plan::Probe& probe) const {
  const bool below =
      board_.expectation.point(probe.point).side == Side::both && probe.side == Side::bottom;
  return index(probe.point) + (below ? points_ : 0);
}

PointId Fragments::point_of(End e) const {
  return PointId{static_cast<std::uint32_t>(e < points_ ? e : e - points_)};
}

// The clip is a join of its own: what conducts to it from one side says nothing of the end on the
// other.
void Fragments::find_end_of_clip(HeardEnds& h, std::size_t placement,
                                 const TouchedNodes& nodes) const {
  const bool first = h.a->clip;
  const plan::Probe &clip = first ? *h.a : *h.b, &needle = first ? *h.b : *h.a;
  if (!clip.clip || needle.clip || nodes.under(placement, clip.channel).size() < 2) return;
  const auto said = nodes.said_by_copper(placement, needle.channel, clip.channel);
  const auto at = said.size() == 1 ? end_at(clip.point, said[0].second) : std::nullopt;
  if (at)
    (first ? h.from : h.to) = *at;
  else
    h.either = h.heard->conducts();
}

// Of the point itself, and of the one at its other end.
std::vector<Fragments::End> Fragments::ends_of_hole(PointId hole) const {
  const auto& points = board_.expectation.points;
  const auto& join = points[index(hole)].join;
  std::vector<End> list;
  for (End p = 0; p < points_; ++p) {
    if (p != index(hole) && (!join || points[p].join != join)) continue;
    list.push_back(p);
    if (points[p].side == Side::both) list.push_back(p + points_);
  }
  return list;
}

std::optional<Fragments::End> Fragments::end_at(PointId hole, std::uint32_t node) const {
  for (const End e : ends_of_hole(hole)) {
    const PointId p = point_of(e);
    const bool below = e >= points_ || board_.expectation.point(p).side == Side::bottom;
    if (board_.faults.node_of(p, below ? Side::bottom : Side::top) == node) return e;
  }
  return std::nullopt;
}

std::vector<Fragments::HeardEnds> Fragments::all_heard(const TouchedNodes& nodes) const {
  std::vector<HeardEnds> list;
  for (std::size_t p = 0; p < plan_.placements.size(); ++p) {
    for (const auto& [pair, heard] : evidence_.heard(p)) {
      const plan::Probe& a = plan_.placements[p].probe(pair.first);
      const plan::Probe& b = plan_.placements[p].probe(pair.second);
      const bool proven = evidence_.touch(p, a.channel) == Touch::proven &&
                          evidence_.touch(p, b.channel) == Touch::proven;
      const bool by_hand = plan_.placements[p].round.has_value();
      list.push_back({&a, &b, end(a), end(b), &heard, proven, by_hand});
      if (by_hand) find_end_of_clip(list.back(), p, nodes);
    }
  }
  return list;
}

void Fragments::note_touches() {
  for (std::size_t p = 0; p < plan_.placements.size(); ++p) {
    for (const plan::Probe& probe : plan_.placements[p].probes) {
      if (evidence_.touch(p, probe.channel) != Touch::proven) continue;
      measured_[index(probe.point)] = true;
      // Which of its ends a clip touches is for needles to say.
      if (!probe.clip || probe.side != Side::both) touched_[end(probe)] = true;
    }
  }
}

// Ends that no reading ties, of which current between some must have run through the others.
void Fragments::tie_sides(const TouchedNodes& nodes) {
  std::set<std::pair<End, End>> heard_apart;
  for (const HeardEnds& h : all_heard(nodes)) {
    if (h.heard->highs > 0 && (!h.by_hand || h.contacts_proven))
      heard_apart.insert(std::minmax(root(h.from), root(h.to)));
  }
  const expect::Derived derived =
      expect::derive(board_.faults.wiring, conducting_facts(plan_, evidence_, nodes));
  std::map<std::uint32_t, End> first;  // by component
  for (End e = 0; e < touched_.size(); ++e) {
    if (!touched_[e]) continue;
    const PointId p = point_of(e);
    const bool below = e >= points_ || board_.expectation.point(p).side == Side::bottom;
    const std::uint32_t node = board_.faults.node_of(p, below ? Side::bottom : Side::top);
    if (node == expect::Wiring::kNone || derived.component[node] == expect::Wiring::kNone) continue;
    const auto [at, fresh] = first.emplace(derived.component[node], e);
    if (!fresh && !heard_apart.contains(std::minmax(root(at->second), root(e))))
      sets_.unite(at->second, e);
  }
}

FragmentId Fragments::fragment(const plan::Probe& probe) const {
  End e = end(probe);
  if (probe.clip && probe.side == Side::both && !touched_[e]) {
    for (const End other : ends_of_hole(probe.point)) {
      if (touched_[other]) e = other;
    }
  }
  return FragmentId{static_cast<std::uint32_t>(root(e))};
}

FragmentId Fragments::fragment_in(std::size_t placement, const plan::Probe& probe) const {
  if (probe.clip && probe.side == Side::both) {
    for (const auto& [pair, heard] : evidence_.heard(placement)) {
      if (!heard.conducts() || (pair.first != probe.channel && pair.second != probe.channel))
        continue;
      const Channel other = pair.first == probe.channel ? pair.second : pair.first;
      const plan::Probe& needle = plan_.placements[placement].probe(other);
      if (!needle.clip && board_.expectation.point(needle.point).group ==
                              board_.expectation.point(probe.point).group)
        return fragment(needle);
    }
  }
  return fragment(probe);
}

bool Fragments::together(PointId a, PointId b) const {
  for (const End e : {index(a), index(a) + points_}) {
    for (const End f : {index(b), index(b) + points_}) {
      if (root(e) == root(f)) return true;
    }
  }
  return false;
}

bool Fragments::apart(FragmentId a, FragmentId b) const {
  return apart_.contains(std::minmax(static_cast<End>(a), static_cast<End>(b)));
}

std::vector<Fragment> Fragments::of_group(GroupId g) const {
  std::map<End, std::vector<PointId>> by_root;
  for (PointId p : board_.expectation.group(g).points) {
    for (const End e : {index(p), index(p) + points_}) {
      if (!touched_[e]) continue;
      auto& list = by_root[root(e)];
      if (list.empty() || list.back() != p) list.push_back(p);
    }
  }
  std::vector<Fragment> fragments;
  for (auto& [r, points] : by_root) {
    fragments.push_back({FragmentId{static_cast<std::uint32_t>(r)}, std::move(points)});
  }
  std::ranges::sort(fragments, {}, &Fragment::points);
  return fragments;
}

std::vector<LocalFragment> Fragments::in_placement(std::size_t placement) const {
  std::map<std::pair<GroupId, FragmentId>, std::vector<std::size_t>> by_id;
  const auto& probes = plan_.placements[placement].probes;
  for (std::size_t i = 0; i < probes.size(); ++i) {
    const auto& group = board_.expectation.point(probes[i].point).group;
    if (!group || evidence_.touch(placement, probes[i].channel) == Touch::missing) continue;
    by_id[{*group, fragment_in(placement, probes[i])}].push_back(i);
  }
  std::vector<LocalFragment> list;
  for (auto& [key, indices] : by_id) list.push_back({key.first, key.second, std::move(indices)});
  return list;
}

}  // namespace isthmus::diagnose
