// SPDX-License-Identifier: Apache-2.0
#include "diagnose/wires.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>

namespace isthmus::diagnose {
namespace {

// Of one placement: channels that touch another's wire, and groups with two such tips.
struct Feigned {
  std::set<Channel> channels;
  std::set<GroupId> groups;
};

Feigned feigned_in(const expect::Board& board, const plan::Placement& placement,
                   const Harness& harness) {
  Feigned out;
  for (const auto& [i, j] : touching_in(placement, harness)) {
    out.channels.insert({i, j});
    const auto& a = board.expectation.point(probe_on(placement, i)->point).group;
    const auto& b = board.expectation.point(probe_on(placement, j)->point).group;
    if (a && a == b) out.groups.insert(*a);
  }
  return out;
}

bool is_feigned(const plan::Step& step, const plan::Reading& reading, const Feigned& feigned) {
  if (step.kind == plan::StepKind::contact && !step.expects_no_contact())
    return feigned.channels.contains(step.tip());
  if (step.kind != plan::StepKind::continuity || !is_low(reading, step.limit)) return false;
  return std::ranges::any_of(step.groups, [&](GroupId g) { return feigned.groups.contains(g); });
}

}  // namespace

const plan::Probe* probe_on(const plan::Placement& placement, Channel channel) {
  const auto it = std::ranges::find_if(placement.probes, [&](const plan::Probe& p) {
    return p.channel == channel || p.twin == channel;
  });
  return it == placement.probes.end() ? nullptr : &*it;
}

std::vector<ChannelPair> touching_in(const plan::Placement& placement, const Harness& harness) {
  std::vector<ChannelPair> list;
  std::ranges::copy_if(harness.touching, std::back_inserter(list), [&](const ChannelPair& wires) {
    return probe_on(placement, wires.first) && probe_on(placement, wires.second);
  });
  return list;
}

bool by_wires(const Study& s, std::size_t placement, Channel a, Channel b) {
  const plan::Placement& laid = s.plan.placements[placement];
  const auto pieces = [&](Channel x, Channel y) {
    const FragmentId one = s.fragments.fragment(*probe_on(laid, x));
    const FragmentId other = s.fragments.fragment(*probe_on(laid, y));
    return std::pair{std::min(one, other), std::max(one, other)};
  };
  return std::ranges::any_of(touching_in(laid, s.harness), [&](const ChannelPair& wires) {
    return pieces(wires.first, wires.second) == pieces(a, b);
  });
}

std::vector<plan::Reading> without_feigned(const expect::Board& board, const plan::Plan& plan,
                                           std::span<const plan::Reading> readings,
                                           const Harness& harness) {
  std::vector<Feigned> feigned;
  for (const plan::Placement& p : plan.placements) feigned.push_back(feigned_in(board, p, harness));
  std::vector<plan::Reading> kept;
  std::ranges::copy_if(readings, std::back_inserter(kept), [&](const plan::Reading& r) {
    const plan::Step& step = plan.step(r.step);
    return !is_feigned(step, r, feigned[step.placement]);
  });
  return kept;
}

std::string in_words(const ChannelPair& wires) {
  return fmt::format("wires {} and {} of the harness touch", wires.first, wires.second);
}

}  // namespace isthmus::diagnose
