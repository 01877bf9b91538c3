// SPDX-License-Identifier: Apache-2.0
#include "diagnose/nodes.hpp"

#include <algorithm>

#include "isthmus/plan/hand_tips.hpp"
#include "isthmus/plan/landing.hpp"

namespace isthmus::diagnose {
namespace {

const TouchedNodes::Nodes kNowhere;

std::vector<plan::HandClip> clips_of(const plan::Placement& p) {
  std::vector<plan::HandClip> clips;
  for (const plan::Probe& probe : p.probes) {
    if (probe.clip) clips.push_back({probe.channel, probe.point, probe.side, probe.side});
  }
  return clips;
}

}  // namespace

struct TouchedNodes::Seats {
  std::map<std::size_t, plan::hand::Seat> by_round;
};

TouchedNodes::TouchedNodes(const expect::Board& board, const plan::Plan& plan,
                           const Evidence& evidence)
    : plan_(plan), under_(plan.placements.size()), seats_(std::make_unique<Seats>()) {
  std::map<std::tuple<PointId, Side, Position, bool>, Nodes> known;
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    const plan::Placement& placement = plan.placements[p];
    bool ties = false;
    for (const plan::Probe& probe : placement.probes) {
      const bool clip = probe.clip && placement.round;
      const auto [it, fresh] = known.try_emplace({probe.point, probe.side, probe.at, clip});
      if (fresh) {
        plan::Probe tip = probe;
        tip.clip = clip;
        it->second = plan::nodes_under(board, tip);
      }
      under_[p][probe.channel] = it->second;
      ties = ties || it->second.size() > 1;
    }
    if (ties && !seats_->by_round.contains(*placement.round))
      seats_->by_round.emplace(*placement.round, plan::hand::Seat(board, clips_of(placement)));
  }
  note_proofs(evidence);
}

TouchedNodes::~TouchedNodes() = default;
TouchedNodes::TouchedNodes(TouchedNodes&&) noexcept = default;

void TouchedNodes::note_proofs(const Evidence& evidence) {
  if (seats_->by_round.empty()) return;
  for (std::size_t p = 0; p < under_.size(); ++p) {
    const auto round = plan_.placements[p].round;
    if (!round) continue;
    for (const auto& [pair, heard] : evidence.heard(p)) {
      if (!heard.conducts()) continue;
      for (const auto& [a, b] : said_by_copper(p, pair.first, pair.second)) {
        for (const std::uint32_t n : {a, b}) {
          auto& span = proven_.try_emplace({*round, n}, std::pair{p, p}).first->second;
          span.second = p;
        }
      }
    }
  }
}

const TouchedNodes::Nodes& TouchedNodes::under(std::size_t placement, Channel channel) const {
  const auto it = under_[placement].find(channel);
  return it == under_[placement].end() ? kNowhere : it->second;
}

std::vector<std::pair<std::uint32_t, std::uint32_t>> TouchedNodes::said_by_copper(
    std::size_t placement, Channel a, Channel b) const {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> list;
  const auto round = plan_.placements[placement].round;
  const auto seat = round ? seats_->by_round.find(*round) : seats_->by_round.end();
  for (const std::uint32_t x : under(placement, a)) {
    for (const std::uint32_t y : under(placement, b)) {
      if (seat == seats_->by_round.end() || seat->second.says(x, y)) list.emplace_back(x, y);
    }
  }
  return list;
}

TouchedNodes::Nodes TouchedNodes::proven_around(std::size_t placement, Channel channel) const {
  Nodes nodes = under(placement, channel);
  if (nodes.size() < 2) return nodes;
  std::erase_if(nodes, [&](std::uint32_t n) {
    const auto it = proven_.find({*plan_.placements[placement].round, n});
    return it == proven_.end() || it->second.first >= placement || it->second.second <= placement;
  });
  return nodes;
}

}  // namespace isthmus::diagnose
