// SPDX-License-Identifier: Apache-2.0
#include "diagnose/by_hand.hpp"

#include <algorithm>

#include "diagnose/facts.hpp"
#include "diagnose/free_places.hpp"
#include "isthmus/plan/landing.hpp"

namespace isthmus::diagnose {
namespace {

std::size_t first_of(const plan::Plan& plan, std::size_t round) {
  const auto at = std::ranges::find(plan.placements, std::optional(round), &plan::Placement::round);
  return static_cast<std::size_t>(at - plan.placements.begin());
}

// Through the row that it is the source on, before and after each pool.
bool held(const Evidence& evidence, std::size_t placement, Channel needle) {
  if (evidence.touch(placement, needle) != Touch::proven) return false;
  const auto& all = evidence.isolations(placement);
  return std::ranges::all_of(all, [&](const IsolationReading& r) {
    return std::ranges::find(r.source, needle) == r.source.end() || r.source.size() != 1 ||
           r.ret.size() < 2 || evidence.proven_around(placement, 1, needle, r.sequence);
  });
}

WantedTouch against_straddling(const Study& s, const HeardByHand& h) {
  const double bridge = s.board.design.board.limits.bridge.value;
  const WhyTouch why = h.ohms > 0 && h.ohms < bridge ? WhyTouch::straddle : WhyTouch::fingers_off;
  if (!h.two_needles) {
    WantedTouch w{why, other_places(s, h.placement, h.at, h.other_at)};
    if (w.at.empty()) w.at.push_back(h.at);
    return w;
  }
  WantedTouch w{why, other_places(s, h.placement, h.at, std::nullopt), h.other_at};
  if (w.at.empty()) w.at.push_back(h.at);
  const auto others = other_places(s, h.placement, h.other_at, std::nullopt);
  if (!others.empty()) w.beside = others.front();
  return w;
}

// What no further proof would tell is left alone.
bool something_is_open(const Study& s) {
  Diagnosis d;
  derive_states(s, true, d);
  return std::ranges::any_of(d.cannot_tell,
                             [](const CannotTell& c) { return c.why != WhyCannotTell::no_touch; });
}

using Pieces = Landings::Pieces;

// Pieces of copper that some landing of the round proved apart, or found to be bridged.
std::set<Pieces> told_in(const Study& s, std::size_t round) {
  std::set<Pieces> list;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    const plan::Placement& at = s.plan.placements[p];
    if (at.round != round) continue;
    for (const BadPair& bad : s.isolation[p].bad()) list.insert(pieces_of(s, p, bad.a, bad.b));
    for (const plan::Probe& a : at.probes) {
      for (const plan::Probe& b : at.probes) {
        if (!a.clip && s.isolation[p].isolated(a.channel, b.channel))
          list.insert(pieces_of(s, p, a.channel, b.channel));
      }
    }
  }
  return list;
}

// Clips of which readings of the round still lack a proof: of those that only proved another clip,
// none is wanted.
std::set<Channel> clips_to_prove(const Study& s, std::size_t round, bool at_end) {
  std::set<Channel> clips;
  const std::set<Pieces> told = at_end ? told_in(s, round) : std::set<Pieces>{};
  const auto known = [&](std::size_t p, const IsolationReading& r, Channel clip) {
    return std::ranges::all_of(r.source,
                               [&](Channel c) { return told.contains(pieces_of(s, p, c, clip)); });
  };
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (s.plan.placements[p].round != round) continue;
    for (const plan::Probe& probe : s.plan.placements[p].probes) {
      if (!probe.clip) continue;
      const auto proven = s.evidence.last_proven(round, probe.channel);
      const auto lost = s.evidence.last_lost(round, probe.channel);
      if (lost && lost > proven) clips.insert(probe.channel);
      if (!at_end) continue;
      for (const IsolationReading& r : s.evidence.isolations(p)) {
        const bool used = std::ranges::find(r.ret, probe.channel) != r.ret.end();
        if (used && (!proven || *proven < r.sequence) && !known(p, r, probe.channel))
          clips.insert(probe.channel);
      }
    }
  }
  return clips;
}

// What it heard says nothing of the clip's net as long as no needle on that net finds the clip.
bool by_anyones_clip(const Study& s, std::size_t round, const HeardByHand& h) {
  return h.anyones_clip && !s.evidence.hangs_now(round, h.other);
}

// Whether a needle on that point conducted to the clip when it was last asked.
std::optional<bool> heard_last(const Study& s, std::size_t round, Channel clip, PointId point) {
  std::optional<bool> out;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    const plan::Placement& at = s.plan.placements[p];
    if (at.round != round) continue;
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (pair.first != clip && pair.second != clip) continue;
      const Channel other = pair.first == clip ? pair.second : pair.first;
      if (at.probe(other).point == point && heard.asked()) out = heard.conducts();
    }
  }
  return out;
}

// The likeliest to conduct first. The clip's own pad, beside the clip, says no more than that the clip
// is on it, and comes before those alone that did not hear it.
std::vector<PointId> places_for(const Study& s, const FreePlaces& places, std::size_t round,
                                Channel clip) {
  const PointId own = s.plan.placements[first_of(s.plan, round)].probe(clip).point;
  std::vector<std::pair<int, PointId>> ranked;
  for (const PointId p : places.of(places.group(own), own)) {
    const auto heard = heard_last(s, round, clip, p);
    ranked.emplace_back(!heard ? 1 : *heard ? 0 : 3, p);
  }
  ranked.emplace_back(2, own);
  std::ranges::stable_sort(ranked, {}, &std::pair<int, PointId>::first);
  std::vector<PointId> list;
  for (const auto& [rank, p] : ranked) list.push_back(p);
  return list;
}

void add_high_resistance(const Study& s, std::size_t round, std::vector<WantedTouch>& list) {
  std::set<PointId> seen;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (s.plan.placements[p].round != round) continue;
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (!heard.dull_only() && excess_of(s.board, s.plan, heard, s.fitted) == Excess::none)
        continue;
      if (cleared_by_hand(s, p, pair) || high_by_hand(s, p, pair)) continue;
      const plan::Probe* a = &s.plan.placements[p].probe(pair.first);
      const plan::Probe* b = &s.plan.placements[p].probe(pair.second);
      if (a->clip) std::swap(a, b);
      if (a->clip || !seen.insert(a->point).second) continue;
      list.push_back(
          {WhyTouch::second_landing, {a->point}, b->clip ? std::nullopt : std::optional(b->point)});
    }
  }
}

}  // namespace

std::string_view name(WhyTouch w) {
  switch (w) {
    case WhyTouch::straddle:
      return "straddle";
    case WhyTouch::fingers_off:
      return "fingers-off";
    case WhyTouch::prove_clip:
      return "prove-clip";
    case WhyTouch::after_clip_lost:
      return "after-clip-lost";
    case WhyTouch::second_landing:
      return "second-landing";
  }
  return "";
}

Landing landing_of(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
                   std::size_t placement, Channel needle, const Fitted& fit) {
  const plan::Placement& p = plan.placements[placement];
  Landing out;
  out.held = held(evidence, placement, needle);
  const std::vector<Channel> own = plan::own_channels(board, p, needle);
  const auto others = plan::other_channels(board, p, needle);
  out.conducts = !own.empty();
  for (const Channel c : own) {
    const Heard h = evidence.between(placement, needle, c);
    out.conducts = out.conducts && h.conducts();
    out.apart = out.apart || (h.highs > 0 && h.lows.empty());
    out.unread = out.unread || (h.lows.empty() && h.dull.empty() && h.highs == 0);
    if (!out.ohms && (!h.lows.empty() || !h.dull.empty())) out.ohms = Ohms{h.least()};
    out.too_much = out.too_much || h.dull_only() || excess_of(board, plan, h, fit) != Excess::none;
  }
  // Read to the end and nothing conducted: nothing more is to be worked out.
  const double limit = board.design.board.limits.isolation.value;
  const auto& read = evidence.isolations(placement);
  if (std::ranges::all_of(read, [&](const IsolationReading& r) {
        return r.over_range || r.ohms > limit + kGuard * r.uncertainty;
      })) {
    if (out.held && (others.empty() || !read.empty())) {
      out.isolation = Landing::Isolation::good;
      out.against = others.size();
    }
    return out;
  }
  const Fragments fragments(board, plan, evidence, TouchedNodes(board, plan, evidence));
  const Isolation isolation(board, plan, evidence, fragments, placement);
  if (!isolation.bad().empty() || !isolation.doubtful().empty()) {
    out.isolation = Landing::Isolation::conducts;
  } else if (others.empty()) {
    out.isolation = out.held ? Landing::Isolation::good : Landing::Isolation::not_read;
  } else if (out.held && !evidence.isolations(placement).empty() && isolation.wanted().empty()) {
    out.isolation = Landing::Isolation::good;
    out.against = others.size();
  }
  return out;
}

std::vector<Channel> unproven_clips(const plan::Plan& plan, const Evidence& evidence,
                                    std::size_t round) {
  std::vector<Channel> list;
  const std::size_t first = first_of(plan, round);
  if (first == plan.placements.size()) return list;
  for (const plan::Probe& p : plan.placements[first].probes) {
    if (!p.clip) continue;
    const auto proven = evidence.last_proven(round, p.channel);
    if (!proven || evidence.last_lost(round, p.channel) > proven) list.push_back(p.channel);
  }
  return list;
}

std::vector<WantedTouch> wanted_touches(const Study& s, std::size_t round, bool at_end) {
  const std::size_t first = first_of(s.plan, round);
  const bool begun = first < s.plan.placements.size();
  const FreePlaces places(s.board, begun ? s.plan.placements[first] : plan::Placement{});
  std::vector<WantedTouch> list;
  std::set<Channel> clips = clips_to_prove(s, round, at_end && something_is_open(s));
  for (const HeardByHand& h : s.landings.once()) {
    if (s.plan.placements[h.placement].round == round && by_anyones_clip(s, round, h))
      clips.insert(h.other);
  }
  for (const Channel c : clips) {
    WantedTouch w{WhyTouch::prove_clip, places_for(s, places, round, c)};
    if (!w.at.empty()) list.push_back(std::move(w));
  }
  for (const HeardByHand& h : s.landings.once()) {
    // Where it sounds well by now, or by a clip that may hang anywhere, a proof is what lacks:
    // prove_clip asks for that.
    if (s.plan.placements[h.placement].round == round && !h.sounds_well &&
        !by_anyones_clip(s, round, h))
      list.push_back(against_straddling(s, h));
  }
  for (const Again& a : s.fragments.again())
    list.push_back({WhyTouch::second_landing, {a.at}, a.beside});
  add_high_resistance(s, round, list);
  return list;
}

}  // namespace isthmus::diagnose
