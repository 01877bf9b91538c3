// SPDX-License-Identifier: Apache-2.0
#include "diagnose/bridging_wires.hpp"

#include <algorithm>
#include <cmath>

#include "diagnose/wires.hpp"

namespace isthmus::diagnose {
namespace {

using Ohms2 = std::optional<std::pair<double, double>>;  // value, one standard deviation

// A contact has milliohms at the least: a tenth of two in line, and never less than the meter can
// tell. Common practice, no source.
constexpr double kShareOfContacts = 0.1, kLeastContacts = 0.01, kLeastTold = 0.001;

class Search {
 public:
  Search(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
         std::size_t placement)
      : board_(board), plan_(plan), evidence_(evidence), placement_(placement) {}

  BridgingWires run(const BadPair& bad) {
    const std::vector<Channel> ours = tips_beside(bad.a), theirs = tips_beside(bad.b);
    const bool alone = ours.size() < 2 && theirs.size() < 2;
    if (alone || std::max(ours.size(), theirs.size()) > kMostTips) return {};
    const Channel i = nearest(ours, bad.b), j = nearest(theirs, bad.a);
    if (!out_.ask.empty()) return out_;
    const auto one = passes_none(others(ours, bad.b, i), i, j),
               other = passes_none(others(theirs, bad.a, j), j, i);
    if ((one || other) && one.value_or(true) && other.value_or(true))
      out_.touching = std::minmax(i, j);
    return out_;
  }

 private:
  // Probes and twins on the copper of that channel, itself first.
  [[nodiscard]] std::vector<Channel> tips_beside(Channel channel) const {
    const plan::Placement& placement = plan_.placements[placement_];
    const auto& group = board_.expectation.point(placement.probe(channel).point).group;
    std::vector<Channel> list{channel};
    for (const plan::Probe& p : placement.probes) {
      if (board_.expectation.point(p.point).group != group) continue;
      if (evidence_.touch(placement_, p.channel) != Touch::proven) continue;
      if (p.channel != channel) list.push_back(p.channel);
      if (p.twin) list.push_back(*p.twin);
    }
    return list;
  }

  Ohms2 read(Channel a, Channel b) {
    const auto ohms = evidence_.by_current(placement_, a, b);
    if (!ohms && !evidence_.tried_by_current(placement_, a, b)) out_.ask.emplace_back(a, b);
    return ohms;
  }

  Channel nearest(const std::vector<Channel>& tips, Channel to) {
    Channel best = tips.front();
    double least = INFINITY;
    for (const Channel c : tips) {
      const Ohms2 ohms = read(c, to);
      if (ohms && ohms->first < least) least = ohms->first, best = c;
    }
    return best;
  }

  // Two that conduct to the other net; more would tell no more.
  std::vector<Channel> others(const std::vector<Channel>& tips, Channel to, Channel but) {
    std::vector<Channel> list;
    for (const Channel c : tips) {
      if (c != but && list.size() < 2 && evidence_.by_current(placement_, c, to)) list.push_back(c);
    }
    return list;
  }

  // By the first other tip that can tell.
  std::optional<bool> passes_none(const std::vector<Channel>& tips, Channel i, Channel j) {
    for (const Channel p : tips) {
      const Ohms2 beside = read(p, i), across = read(i, j), around = read(p, j);
      if (!out_.ask.empty()) return std::nullopt;
      if (!beside || !across || !around) continue;
      const double told =
          std::max(kLeastTold, 3 * std::hypot(beside->second, across->second, around->second));
      if (beside->first < kLeastContacts || told > kShareOfContacts * beside->first) continue;
      const double passed = beside->first + across->first - around->first;
      return std::abs(passed) < std::max(told, kShareOfContacts * beside->first);
    }
    return std::nullopt;
  }

  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  std::size_t placement_;
  BridgingWires out_;
};

}  // namespace

BridgingWires bridging_wires(const expect::Board& board, const plan::Plan& plan,
                             const Evidence& evidence, std::size_t placement, const BadPair& bad) {
  if (plan.wires != 4 || !evidence.by_current(placement, bad.a, bad.b)) return {};
  return Search(board, plan, evidence, placement).run(bad);
}

}  // namespace isthmus::diagnose
