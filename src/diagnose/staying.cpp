// SPDX-License-Identifier: Apache-2.0
// What stays from one landing to the next: clips of a round, and needles that stand while another
// walks.
#include <algorithm>

#include "diagnose/evidence.hpp"

namespace isthmus::diagnose {

// What the landings of a round tell of the clips that stayed meanwhile.
void Evidence::settle_round(std::size_t round) {
  RoundProofs& all = rounds_[round] = {};
  for (std::size_t p = 0; p < placed_.size(); ++p) {
    if (plan_.placements[p].round == round && placed_[p].reached) tell_round(p, all);
  }
  all.sort();
  settle_stands(round);
}

void Evidence::settle_stands(std::size_t round) {
  std::map<Channel, std::size_t> since;  // needles that stand
  for (std::size_t p = 0; p < placed_.size(); ++p) {
    const plan::Placement& placement = plan_.placements[p];
    if (placement.round != round) continue;
    std::map<Channel, std::size_t> now;
    for (const plan::Probe& probe : placement.probes) {
      const auto before = since.find(probe.channel);
      if (probe.clip || !placement.taken_back.empty()) continue;
      const bool stayed =
          before != since.end() && placed_[p].landed && *placed_[p].landed != probe.channel &&
          plan_.placements[before->second].probe(probe.channel).point == probe.point;
      const std::size_t from = stayed ? before->second : p;
      now[probe.channel] = from;
      const Stand stand{from, probe.channel};
      stands_[{p, probe.channel}] = from;
      if (!stayed) standing_[stand] = {};
      if (placed_[p].reached) tell_stand(p, probe.channel, standing_[stand]);
    }
    since = std::move(now);
  }
  for (auto& [stand, proofs] : standing_) {
    if (plan_.placements[stand.first].round == round) proofs.sort();
  }
}

// What proves it is a reading of its own: it is where it was put.
void Evidence::tell_stand(std::size_t placement, Channel needle, RoundProofs& stand) const {
  const Said& said = placed_[placement].said;
  for (const auto& [key, sequences] : said.touches.proven) {
    if (key.second != needle) continue;
    for (const std::uint32_t s : sequences) {
      stand.prove(key.first, needle, s);
      stand.meet(needle, true, s);
    }
  }
  const auto gone = said.touches.gone.find(needle);
  if (gone != said.touches.gone.end()) {
    for (const std::uint32_t s : gone->second) stand.lose(needle, s);
  }
  for (const auto& [pair, sequences] : said.touches.apart) {
    if (pair.first != needle && pair.second != needle) continue;
    for (const std::uint32_t s : sequences) stand.lose(needle, s);
  }
}

void Evidence::tell_round(std::size_t p, RoundProofs& round) const {
  const plan::Placement& placement = plan_.placements[p];
  const Said& said = placed_[p].said;
  const auto clip = [&](Channel c) {
    return std::ranges::any_of(placement.probes, [&](const plan::Probe& probe) {
      return probe.clip && probe.channel == c;
    });
  };
  for (const auto& [key, sequences] : said.touches.proven) {
    for (const std::uint32_t s : sequences) {
      if (clip(key.second)) round.prove(key.first, key.second, s);
    }
  }
  for (const auto& [key, closed] : said.loads) round.load(key.first, key.second, closed);
  for (const Channel c : said.at_voltage) round.at_voltage.insert(c);
  for (const auto& [c, sequences] : said.touches.gone) {
    for (const std::uint32_t s : sequences) {
      if (clip(c)) round.lose(c, s);
    }
  }
  // Of a clip, by a needle.
  const auto each = [&](const auto& pairs, auto&& tell) {
    for (const auto& [pair, sequences] : pairs) {
      for (const auto& [a, b] : {pair, std::pair{pair.second, pair.first}}) {
        if (!clip(a) || clip(b)) continue;
        for (const std::uint32_t s : sequences) tell(a, b, s);
      }
    }
  };
  each(said.touches.met, [&](Channel c, Channel needle, std::uint32_t s) {
    round.meet(c, placement.probe(c).point != placement.probe(needle).point, s);
  });
  // A needle that is not known to stand says nothing of the clip.
  each(said.touches.apart, [&](Channel c, Channel needle, std::uint32_t s) {
    if (touch(p, needle) == Touch::proven) round.lose(c, s);
  });
}

const RoundProofs* Evidence::round_of(std::size_t placement, Channel channel) const {
  const plan::Placement& p = plan_.placements[placement];
  if (!p.round) return nullptr;
  const bool clip = std::ranges::any_of(
      p.probes, [&](const plan::Probe& x) { return x.clip && x.channel == channel; });
  const auto at = rounds_.find(*p.round);
  return clip && at != rounds_.end() ? &at->second : nullptr;
}

const RoundProofs* Evidence::stand_of(std::size_t placement, Channel channel) const {
  const auto stand = stands_.find({placement, channel});
  if (stand == stands_.end()) return nullptr;
  const auto at = standing_.find({stand->second, channel});
  return at != standing_.end() ? &at->second : nullptr;
}

// Of what stays from one landing to the next.
const RoundProofs* Evidence::kept(std::size_t placement, Channel channel) const {
  const RoundProofs* clip = round_of(placement, channel);
  return clip != nullptr ? clip : stand_of(placement, channel);
}

std::optional<std::uint32_t> Evidence::last_proven(std::size_t round, Channel clip) const {
  const auto at = rounds_.find(round);
  return at == rounds_.end() ? std::nullopt : at->second.last_proven(clip);
}

std::optional<std::uint32_t> Evidence::last_lost(std::size_t round, Channel clip) const {
  const auto at = rounds_.find(round);
  return at == rounds_.end() ? std::nullopt : at->second.last_lost(clip);
}

bool Evidence::hangs(std::size_t placement, Channel clip) const {
  const RoundProofs* round = round_of(placement, clip);
  return round && round->hangs(clip, placed_[placement].first, placed_[placement].last);
}

bool Evidence::hangs_now(std::size_t round, Channel clip) const {
  const auto at = rounds_.find(round);
  return at != rounds_.end() && at->second.hangs(clip, UINT32_MAX, UINT32_MAX);
}

}  // namespace isthmus::diagnose
