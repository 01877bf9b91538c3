// SPDX-License-Identifier: Apache-2.0
#include "diagnose/landings.hpp"

#include <algorithm>

#include "diagnose/findings.hpp"
#include "diagnose/free_places.hpp"

namespace isthmus::diagnose {
namespace {

using Pieces = Landings::Pieces;

Pieces pieces_of(const Study& s, std::size_t placement, Channel a, Channel b) {
  const plan::Placement& p = s.plan.placements[placement];
  return std::minmax(s.fragments.fragment(p.probe(a)), s.fragments.fragment(p.probe(b)));
}

std::vector<HeardByHand> heard_in(const Study& s, std::size_t placement) {
  std::vector<HeardByHand> list;
  const plan::Placement& p = s.plan.placements[placement];
  const auto note = [&](Channel a, Channel b, double ohms) {
    if (p.probe(a).clip) std::swap(a, b);
    if (p.probe(a).clip) return;  // two clips: the board's, whoever stands there
    list.push_back({placement, a, b, p.probe(a).point, p.probe(b).point, ohms});
  };
  for (const BadPair& bad : s.isolation[placement].bad()) note(bad.a, bad.b, bad.ohms);
  for (const auto& [a, b] : s.isolation[placement].doubtful()) note(a, b, 0);
  return list;
}

bool has_another_place(const Study& s, const HeardByHand& h) {
  const FreePlaces places(s.board, s.plan.placements[h.placement]);
  return !places.that_hear(h.at, h.clip_at).empty();
}

bool confirmed(const Study& s, const std::vector<HeardByHand>& all) {
  std::set<PointId> places;
  std::set<std::size_t> landings;
  for (const HeardByHand& h : all) {
    if (h.ohms <= 0) continue;
    places.insert(h.at);
    landings.insert(h.placement);
  }
  if (places.size() >= 2) return true;
  return landings.size() >= 2 && !has_another_place(s, all.front());
}

bool read_well_since(const Study& s, const Pieces& pieces, std::size_t last) {
  for (std::size_t p = last + 1; p < s.plan.placements.size(); ++p) {
    const plan::Placement& placement = s.plan.placements[p];
    if (!placement.round || !s.evidence.reached(p)) continue;
    for (const plan::Probe& a : placement.probes) {
      for (const plan::Probe& b : placement.probes) {
        if (a.clip || !b.clip || pieces_of(s, p, a.channel, b.channel) != pieces) continue;
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

bool Landings::unsettled(const Study& s, std::size_t placement, Channel a, Channel b) const {
  return !unsettled_.empty() && unsettled_.contains(pieces_of(s, placement, a, b));
}

Landings settle_landings(Study& s) {
  Landings out;
  std::map<Pieces, std::vector<HeardByHand>> by_pieces;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (!s.plan.placements[p].round || !s.evidence.reached(p)) continue;
    for (const HeardByHand& h : heard_in(s, p))
      by_pieces[pieces_of(s, p, h.needle, h.clip)].push_back(h);
  }
  for (const auto& [pieces, all] : by_pieces) {
    if (confirmed(s, all)) continue;
    const bool gone = read_well_since(s, pieces, all.back().placement);
    (gone ? out.gone_ : out.once_).push_back(all.back());
    if (!gone) out.unsettled_.insert(pieces);
    for (const HeardByHand& h : all) {
      Isolation& isolation = s.isolation[h.placement];
      gone ? isolation.clear(h.needle, h.clip) : isolation.doubt(h.needle, h.clip);
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
