// SPDX-License-Identifier: Apache-2.0
#include "diagnose/landings.hpp"

#include <algorithm>

#include "diagnose/findings.hpp"
#include "diagnose/free_places.hpp"

namespace isthmus::diagnose {

using Pieces = Landings::Pieces;

Pieces pieces_of(const Study& s, std::size_t placement, Channel a, Channel b) {
  const plan::Placement& p = s.plan.placements[placement];
  return std::minmax(s.fragments.fragment_in(placement, p.probe(a)),
                     s.fragments.fragment_in(placement, p.probe(b)));
}

namespace {

std::vector<HeardByHand> heard_in(const Study& s, std::size_t placement) {
  std::vector<HeardByHand> list;
  const plan::Placement& p = s.plan.placements[placement];
  const auto note = [&](Channel a, Channel b, double ohms) {
    if (p.probe(a).clip) std::swap(a, b);
    if (p.probe(a).clip) return;  // two clips: the board's, whoever stands there
    HeardByHand h{placement, a, b, p.probe(a).point, p.probe(b).point, !p.probe(b).clip, ohms};
    h.anyones_clip = !h.two_needles && !s.evidence.hangs(placement, b);
    list.push_back(h);
  };
  for (const BadPair& bad : s.isolation[placement].bad()) note(bad.a, bad.b, bad.ohms);
  for (const auto& [a, b] : s.isolation[placement].doubtful()) note(a, b, 0);
  return list;
}

// Two clips that conduct to each other are the board's matter, whoever stands there, as long as both
// are known to hang where they should; else what they say is of copper that nobody knows.
void clear_unknown_clips(Study& s, std::size_t placement) {
  const plan::Placement& p = s.plan.placements[placement];
  const auto anyones = [&](Channel c) {
    return p.probe(c).clip && !s.evidence.hangs(placement, c);
  };
  std::vector<std::pair<Channel, Channel>> pairs(s.isolation[placement].doubtful().begin(),
                                                 s.isolation[placement].doubtful().end());
  for (const BadPair& bad : s.isolation[placement].bad()) pairs.emplace_back(bad.a, bad.b);
  for (const auto& [a, b] : pairs) {
    if (p.probe(a).clip && p.probe(b).clip && (anyones(a) || anyones(b)))
      s.isolation[placement].clear(a, b);
  }
}

// The needle that came down last in each landing. Its first step asks for voltage on the board.
class Landers {
 public:
  explicit Landers(const plan::Plan& plan) : by_placement_(plan.placements.size()) {
    for (const plan::Step& step : plan.steps) {
      if (step.kind == plan::StepKind::board_voltage && !step.source.empty())
        by_placement_[step.placement] = step.source.front();
    }
  }
  // Whether it came down anew after the first of these landings and not after the second.
  [[nodiscard]] bool between(Channel needle, std::size_t after, std::size_t until) const {
    for (std::size_t p = after + 1; p <= until; ++p) {
      if (by_placement_[p] == needle) return true;
    }
    return false;
  }

 private:
  std::vector<std::optional<Channel>> by_placement_;
};

// Landings that read two pieces apart, whether their contacts were proven or not.
class SoundWell {
 public:
  explicit SoundWell(const Study& s) {
    for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
      if (!s.plan.placements[p].round || !s.evidence.reached(p)) continue;
      for (const IsolationReading& r : s.evidence.isolations(p)) {
        if (s.isolation[p].surely_isolated(r)) add(s, p, r);
      }
    }
  }
  [[nodiscard]] bool between(const Pieces& pieces, std::size_t after, std::size_t before) const {
    const auto at = by_pieces_.find(pieces);
    if (at == by_pieces_.end()) return false;
    const auto next = at->second.upper_bound(after);
    return next != at->second.end() && *next < before;
  }

 private:
  void add(const Study& s, std::size_t p, const IsolationReading& r) {
    for (const Channel a : r.source) {
      for (const Channel b : r.ret) by_pieces_[pieces_of(s, p, a, b)].insert(p);
    }
  }
  std::map<Pieces, std::set<std::size_t>> by_pieces_;
};

class Confirming {
 public:
  Confirming(const Study& s, const Landers& landers, const SoundWell& well)
      : s_(s), landers_(landers), well_(well) {}

  // Of one pair of pieces, ascending.
  [[nodiscard]] bool by(const Pieces& pieces, const std::vector<HeardByHand>& all) const {
    return std::ranges::any_of(all, [&](const HeardByHand& first) {
      return again(pieces, all, first, [&](const HeardByHand& second) {
        return metal(first, second) ||
               again(pieces, all, second, [](const HeardByHand&) { return true; });
      });
    });
  }

 private:
  // A later landing confirms it, and is one that will do.
  template <class WillDo>
  [[nodiscard]] bool again(const Pieces& pieces, const std::vector<HeardByHand>& all,
                           const HeardByHand& first, const WillDo& will_do) const {
    return std::ranges::any_of(all, [&](const HeardByHand& second) {
      return first.placement < second.placement && counts(first) && counts(second) &&
             !came_and_went(pieces, first, second) && confirms(pieces, first, second) &&
             will_do(second);
    });
  }
  [[nodiscard]] bool metal(const HeardByHand& first, const HeardByHand& second) const {
    const double hard = s_.board.design.board.limits.bridge.value;
    return first.ohms < hard && second.ohms < hard;
  }
  [[nodiscard]] static bool counts(const HeardByHand& h) { return h.ohms > 0 && !h.anyones_clip; }
  // A tip that straddled the first time did not the second time, for it stood elsewhere, or, where
  // its copper has no other place, it landed anew; and no needle on either copper stood through both,
  // for it may be that one which straddles, or the hand that holds it.
  [[nodiscard]] bool confirms(const Pieces& pieces, const HeardByHand& first,
                              const HeardByHand& second) const {
    if (stood_through(pieces, first.placement, second.placement)) return false;
    if (!first.two_needles && !second.two_needles)
      return first.at != second.at || !has_another_place(first);
    return elsewhere(first, second);
  }
  [[nodiscard]] bool stood_through(const Pieces& pieces, std::size_t first,
                                   std::size_t second) const {
    return std::ranges::any_of(s_.plan.placements[first].probes, [&](const plan::Probe& p) {
      const FragmentId under = s_.fragments.fragment(p);
      return !p.clip && (under == pieces.first || under == pieces.second) &&
             !landers_.between(p.channel, first, second);
    });
  }
  [[nodiscard]] bool came_and_went(const Pieces& pieces, const HeardByHand& first,
                                   const HeardByHand& second) const {
    return !metal(first, second) && well_.between(pieces, first.placement, second.placement);
  }
  [[nodiscard]] bool elsewhere(const HeardByHand& first, const HeardByHand& second) const {
    std::set<PointId> then{first.at};
    if (first.two_needles) then.insert(first.other_at);
    const auto moved = [&](PointId now) {
      return !then.contains(now) || other_places(s_, first.placement, now, std::nullopt).empty();
    };
    return moved(second.at) && (!second.two_needles || moved(second.other_at));
  }
  [[nodiscard]] bool has_another_place(const HeardByHand& h) const {
    return !other_places(s_, h.placement, h.at, h.other_at).empty();
  }

  const Study& s_;
  const Landers& landers_;
  const SoundWell& well_;
};

bool read_well_since(const Study& s, const Pieces& pieces, std::size_t last) {
  for (std::size_t p = last + 1; p < s.plan.placements.size(); ++p) {
    const plan::Placement& placement = s.plan.placements[p];
    if (!placement.round || !s.evidence.reached(p)) continue;
    for (const plan::Probe& a : placement.probes) {
      for (const plan::Probe& b : placement.probes) {
        if (a.clip || pieces_of(s, p, a.channel, b.channel) != pieces) continue;
        if (s.isolation[p].isolated(a.channel, b.channel)) return true;
      }
    }
  }
  return false;
}

struct Readings {
  std::size_t high{}, fine{};
};

Readings count_by_hand(const Study& s, std::size_t placement, std::pair<Channel, Channel> tips) {
  const auto places = [&](std::size_t p, std::pair<Channel, Channel> pair) {
    const plan::Placement& at = s.plan.placements[p];
    return std::minmax(at.probe(pair.first).point, at.probe(pair.second).point);
  };
  const auto here = places(placement, tips);
  Readings out;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (!s.plan.placements[p].round) continue;
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (places(p, pair) != here || heard.highs > 0) continue;
      const bool high =
          heard.dull_only() || excess_of(s.board, s.plan, heard, s.fitted) != Excess::none;
      if (high)
        ++out.high;
      else if (heard.conducts())
        ++out.fine;
    }
  }
  return out;
}

}  // namespace

std::vector<PointId> other_places(const Study& s, std::size_t placement, PointId at,
                                  std::optional<PointId> clip_at) {
  const FreePlaces places(s.board, s.plan.placements[placement]);
  const auto own = places.group(at);
  std::vector<PointId> list = clip_at ? places.that_hear(at, *clip_at) : places.of(own, at);
  if (!own || !places.clipped(*own))
    std::erase_if(list, [&](PointId p) { return !s.fragments.together(p, at); });
  return list;
}

bool Landings::unsettled(const Study& s, std::size_t placement, Channel a, Channel b) const {
  return !unsettled_.empty() && unsettled_.contains(pieces_of(s, placement, a, b));
}

Landings settle_landings(Study& s) {
  Landings out;
  std::map<Pieces, std::vector<HeardByHand>> by_pieces;
  const Landers landers(s.plan);
  const SoundWell well(s);
  const Confirming confirming(s, landers, well);
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (!s.plan.placements[p].round || !s.evidence.reached(p)) continue;
    clear_unknown_clips(s, p);
    for (const HeardByHand& h : heard_in(s, p))
      by_pieces[pieces_of(s, p, h.needle, h.other)].push_back(h);
  }
  for (const auto& [pieces, all] : by_pieces) {
    if (confirming.by(pieces, all)) continue;
    const bool gone = read_well_since(s, pieces, all.back().placement);
    HeardByHand last = all.back();
    last.sounds_well = well.between(pieces, last.placement, SIZE_MAX);
    (gone ? out.gone_ : out.once_).push_back(last);
    if (!gone) out.unsettled_.insert(pieces);
    for (const HeardByHand& h : all) {
      Isolation& isolation = s.isolation[h.placement];
      gone ? isolation.clear(h.needle, h.other) : isolation.doubt(h.needle, h.other);
    }
  }
  return out;
}

bool cleared_by_hand(const Study& s, std::size_t placement, std::pair<Channel, Channel> tips) {
  return s.plan.placements[placement].round && count_by_hand(s, placement, tips).fine > 0;
}

bool high_by_hand(const Study& s, std::size_t placement, std::pair<Channel, Channel> tips) {
  const Readings all = count_by_hand(s, placement, tips);
  return all.high >= 2 && all.fine == 0;
}

}  // namespace isthmus::diagnose
