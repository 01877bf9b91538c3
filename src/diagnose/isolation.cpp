// SPDX-License-Identifier: Apache-2.0
#include "diagnose/isolation.hpp"

#include <algorithm>

namespace isthmus::diagnose {
namespace {

Question canonical(Channels a, Channels b) {
  std::ranges::sort(a);
  std::ranges::sort(b);
  return a < b ? Question{std::move(a), std::move(b)} : Question{std::move(b), std::move(a)};
}

std::pair<Channels, Channels> halves(const Channels& list) {
  const auto middle = list.begin() + static_cast<std::ptrdiff_t>(list.size() / 2);
  return {{list.begin(), middle}, {middle, list.end()}};
}

bool surely_good(const IsolationReading& r, double limit) {
  return r.over_range || r.ohms > limit + kGuard * r.uncertainty;
}

constexpr std::size_t kEnough = 3;  // readings of one pair, after which doubt is what it is

}  // namespace

Isolation::Isolation(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
                     const Fragments& fragments, std::size_t placement)
    : board_(board),
      plan_(plan),
      evidence_(evidence),
      fragments_(fragments),
      placement_(placement),
      limit_(board.design.board.limits.isolation.value) {
  find_alone();
  std::vector<Question> failed;
  for (const IsolationReading& r : evidence.isolations(placement)) {
    const Question q = canonical(r.source, r.ret);
    Known& k = known_[q];
    if (surely_good(r, limit_)) {
      ++k.good;
      continue;
    }
    failed.push_back(q);
    if (r.ohms > limit_ - kGuard * r.uncertainty || 1 / r.ohms - r.leakage < 1 / limit_) {
      ++k.doubt;
      continue;
    }
    ++k.bad;
    if (q.source == r.source) ++k.forward;
    k.ohms = r.ohms;
    k.uncertainty = r.uncertainty;
  }
  for (const Question& q : failed) descend(q);
  if (wanted_.empty()) {
    for (const Question& q : failed) doubt_unexplained(q);
  }
  ask_fragments();
}

Known Isolation::known(const Question& q) const {
  const auto it = known_.find(q);
  return it == known_.end() ? Known{} : it->second;
}

void Isolation::descend_pair(const Question& q, const Known& k) {
  const Channel a = q.source[0], b = q.ret[0];
  const bool both = k.forward > 0 && k.forward < k.bad;
  if (k.bad == 0 && k.good > 0) return;  // a second look cleared it
  // A tip that does not reach its own twin, or no metal, may hang on another's wire.
  const auto missing = [&](Channel c) { return evidence_.touch(placement_, c) == Touch::missing; };
  if (k.good > 0 || missing(a) || missing(b) ||
      (k.bad >= 2 && evidence_.isolation_distrusted(placement_)) || (!both && k.asked() >= kEnough))
    doubtful_.insert({std::min(a, b), std::max(a, b)});
  else if (both)
    bad_.push_back({std::min(a, b), std::max(a, b), k.ohms, k.uncertainty});
  else
    wanted_.insert(k.forward > 0 ? Question{q.ret, q.source} : q);
}

// Vertex halving: the larger side first. Leakages add, so a failure that neither half shows is
// taken apart on the other side too, down to pairs.
void Isolation::descend(const Question& q) {
  if (!seen_.insert(q).second) return;
  const Known k = known(q);
  if (k.asked() == 0) {
    wanted_.insert(q);
    return;
  }
  if (q.source.size() == 1 && q.ret.size() == 1) {
    if (k.bad + k.doubt > 0) descend_pair(q, k);
    return;
  }
  if (k.bad + k.doubt == 0) return;
  const bool split_source = q.source.size() >= q.ret.size();
  const auto [low, high] = halves(split_source ? q.source : q.ret);
  const Channels& other = split_source ? q.ret : q.source;
  const Question one = canonical(low, other), two = canonical(high, other);
  descend(one);
  descend(two);
  const Known k1 = known(one), k2 = known(two);
  const auto clear = [](const Known& part) { return part.good > 0 && part.bad + part.doubt == 0; };
  if (clear(k1) && clear(k2) && other.size() > 1) {
    const auto [left, right] = halves(other);
    for (const Channels& part : {left, right})
      descend(canonical(part, split_source ? q.source : q.ret));
  }
}

// It conducted harder than all its pairs together can that read well since: something did, and then
// did no more.
void Isolation::doubt_unexplained(const Question& q) {
  const auto within = [&](Channel a, Channel b) {
    const auto has = [](const Channels& list, Channel c) {
      return std::ranges::binary_search(list, c);
    };
    return (has(q.source, a) && has(q.ret, b)) || (has(q.source, b) && has(q.ret, a));
  };
  if (std::ranges::any_of(bad_, [&](const BadPair& p) { return within(p.a, p.b); }) ||
      std::ranges::any_of(doubtful_, [&](const auto& p) { return within(p.first, p.second); }))
    return;
  const auto pairs = static_cast<double>(q.source.size() * q.ret.size());
  const Known k = known(q);
  if (k.bad == 0 || 1 / k.ohms <= pairs / limit_) return;
  for (const Channel a : q.source) {
    for (const Channel b : q.ret) doubtful_.insert(std::minmax(a, b));
  }
}

// A net that fell apart: each further fragment is asked against everything it may have bridged to.
void Isolation::ask_fragments() {
  const auto list = fragments_.in_placement(placement_);
  const auto& probes = plan_.placements[placement_].probes;
  std::map<GroupId, std::vector<const LocalFragment*>> by_group;
  for (const LocalFragment& f : list) by_group[f.group].push_back(&f);
  for (const auto& [group, fragments] : by_group) {
    if (fragments.size() < 2) continue;
    Channels neighbours;
    for (const expect::Pair& pair : board_.expectation.pairs) {
      if (pair.a != group && pair.b != group) continue;
      const auto it = by_group.find(pair.a == group ? pair.b : pair.a);
      if (it == by_group.end()) continue;
      for (const LocalFragment* f : it->second) neighbours.push_back(probes[f->probes[0]].channel);
    }
    if (neighbours.empty()) continue;
    std::ranges::sort(neighbours);
    for (const LocalFragment* f : fragments) {
      const Channel c = probes[f->probes[0]].channel;
      const bool done = std::ranges::all_of(neighbours, [&](Channel n) {
        return isolated(c, n) || std::ranges::any_of(bad_, [&](const BadPair& b) {
                 return b.a == std::min(c, n) && b.b == std::max(c, n);
               });
      });
      if (!done) descend(canonical({c}, neighbours));
    }
  }
}

bool Isolation::surely_touched(int row, Channel channel, const IsolationReading& r) const {
  return evidence_.proven_around(placement_, row, channel, r.sequence) &&
         evidence_.holds_under_load(placement_, row, channel, r.source.size() + r.ret.size());
}

bool Isolation::surely_isolated(const IsolationReading& r) const { return surely_good(r, limit_); }

void Isolation::doubt(Channel a, Channel b) {
  clear(a, b);
  doubtful_.insert(std::minmax(a, b));
}

void Isolation::clear(Channel a, Channel b) {
  const auto [low, high] = std::minmax(a, b);
  doubtful_.erase({low, high});
  std::erase_if(
      bad_, [&, low = low, high = high](const BadPair& p) { return p.a == low && p.b == high; });
}

void Isolation::find_alone() {
  const plan::Placement& placement = plan_.placements[placement_];
  if (placement.round) return;  // of a needle the landing tells
  std::map<GroupId, std::size_t> tips;
  const auto group_of = [&](const plan::Probe& p) {
    return board_.expectation.point(p.point).group;
  };
  for (const plan::Probe& p : placement.probes) {
    if (const auto g = group_of(p)) ++tips[*g];
  }
  for (const plan::Probe& p : placement.probes) {
    if (const auto g = group_of(p); g && tips[*g] == 1 && !p.twin) alone_.insert(p.channel);
  }
}

bool Isolation::apart(const IsolationReading& r, Channel a, Channel b) const {
  const auto has = [](const Channels& list, Channel c) {
    return std::ranges::find(list, c) != list.end();
  };
  const bool ahead = has(r.source, a) && has(r.ret, b);
  if (!ahead && !(has(r.source, b) && has(r.ret, a))) return false;
  return surely_touched(1, ahead ? a : b, r) && surely_touched(2, ahead ? b : a, r);
}

bool Isolation::unheard(Channel a, Channel b) const {
  if (!alone_.contains(a) && !alone_.contains(b)) return false;
  return std::ranges::none_of(evidence_.apart_by_current(placement_),
                              [&](const IsolationReading& r) { return apart(r, a, b); });
}

std::vector<Question> Isolation::unheard() const {
  std::map<Channel, std::set<Channel>> against;
  for (const IsolationReading& r : evidence_.isolations(placement_)) {
    if (!surely_good(r, limit_)) continue;
    for (const Channel a : r.source) {
      for (const Channel b : r.ret) {
        if (unheard(a, b)) (alone_.contains(a) ? against[a].insert(b) : against[b].insert(a));
      }
    }
  }
  std::vector<Question> list;
  for (const auto& [tip, others] : against) list.push_back({{tip}, {others.begin(), others.end()}});
  return list;
}

bool Isolation::isolated(Channel a, Channel b) const {
  return !unheard(a, b) &&
         std::ranges::any_of(evidence_.isolations(placement_), [&](const IsolationReading& r) {
           return surely_good(r, limit_) && apart(r, a, b);
         });
}

}  // namespace isthmus::diagnose
