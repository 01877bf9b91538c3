// SPDX-License-Identifier: Apache-2.0
#include "plan/steps.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "isthmus/base/binary_words.hpp"
#include "plan/colouring.hpp"

namespace isthmus::plan {

std::vector<GroupInPlacement> groups_in(const expect::Board& board, const Placement& placement) {
  std::map<GroupId, std::vector<std::size_t>> by_group;
  for (std::size_t i = 0; i < placement.probes.size(); ++i) {
    const auto& group = board.expectation.point(placement.probes[i].point).group;
    if (group) by_group[*group].push_back(i);
  }
  std::vector<GroupInPlacement> list;
  for (auto& [group, probes] : by_group) list.push_back({group, std::move(probes)});
  return list;
}

namespace {

bool share_copper(const expect::Group& a, const expect::Group& b) {
  return std::ranges::any_of(a.islands,
                             [&](IslandId i) { return std::ranges::binary_search(b.islands, i); });
}

bool one_net(const expect::Group& a, const expect::Group& b) {
  return a.net == b.net && a.net_full == b.net_full;
}

// For each group the first that it may conduct to: pieces of one net, and tied nets on one piece of
// copper.
std::vector<std::size_t> first_that_may(const expect::Board& board,
                                        const std::vector<GroupInPlacement>& groups) {
  std::vector<std::size_t> first(groups.size());
  for (std::size_t i = 0; i < groups.size(); ++i) {
    first[i] = i;
    for (std::size_t k = 0; k < i && first[i] == i; ++k) {
      const expect::Group &a = board.expectation.group(groups[k].group),
                          &b = board.expectation.group(groups[i].group);
      if (one_net(a, b) ||
          (share_copper(a, b) && expect::may_conduct(board, groups[k].group, groups[i].group)))
        first[i] = first[k];
    }
  }
  return first;
}

}  // namespace

std::vector<Partition> partitions(const expect::Board& board,
                                  const std::vector<GroupInPlacement>& groups) {
  // What may conduct is kept on one side: it would spoil every step that parts it.
  std::vector<std::size_t> vertex = first_that_may(board, groups);
  std::vector<bool> torn(groups.size()), meets(groups.size());
  for (std::size_t i = 0; i < groups.size(); ++i) {
    for (std::size_t k = i + 1; k < groups.size(); ++k) {
      if (expect::may_conduct(board, groups[i].group, groups[k].group)) continue;
      meets[i] = meets[k] = true;
      if (vertex[i] == vertex[k]) torn[vertex[i]] = true;  // a tie of three that is not of each two
    }
  }
  for (std::size_t i = 0; i < groups.size(); ++i) {
    if (torn[vertex[i]]) vertex[i] = i;
  }
  // Every two that must not conduct have different words, near or far: a long splash, or a chain
  // through copper that broke off, has ends that are no neighbours.
  std::map<std::size_t, std::size_t> word;
  for (std::size_t i = 0; i < groups.size(); ++i) {
    if (meets[i]) word.try_emplace(vertex[i], word.size());
  }
  std::vector<Partition> list(tests_for(word.size()));
  for (std::size_t bit = 0; bit < list.size(); ++bit) {
    for (std::size_t i = 0; i < groups.size(); ++i) {
      if (meets[i])
        ((word.at(vertex[i]) >> bit) & 1 ? list[bit].source : list[bit].ret).push_back(i);
    }
  }
  return list;
}

StepBuilder::StepBuilder(const expect::Board& board, const Means& means, int channels, Plan& plan)
    : board_(board),
      means_(means),
      channels_(channels),
      plan_(plan),
      make_(board.design.board.limits, plan.contact_check, 0) {}

const Probe& StepBuilder::probe(const GroupInPlacement& g, std::size_t k) const {
  return plan_.placements[placement_].probes[g.probes[k]];
}

std::vector<Channel> StepBuilder::channels_of(const std::vector<std::size_t>& groups) const {
  std::vector<Channel> list;
  for (std::size_t g : groups) list.push_back(probe(groups_[g], 0).channel);
  std::ranges::sort(list);
  return list;
}

std::vector<GroupId> StepBuilder::ids_of(const Partition& p) const {
  std::vector<GroupId> ids;
  for (std::size_t g : p.source) ids.push_back(groups_[g].group);
  for (std::size_t g : p.ret) ids.push_back(groups_[g].group);
  return ids;
}

// A battery may sit between any two groups, near or far.
void StepBuilder::voltages() {
  std::vector<std::size_t> all(groups_.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  for (auto& [zeros, ones] : by_binary_words(all)) {
    const Partition p{std::move(ones), std::move(zeros)};
    Step& step = add_step(plan_, make_.board_voltage(channels_of(p.source), channels_of(p.ret)));
    step.groups = ids_of(p);
    std::ranges::sort(step.groups);
  }
}

void StepBuilder::references(Volts volts) {
  for (std::size_t k = 0; k < means_.references.size(); ++k)
    add_step(plan_, make_.reference(static_cast<int>(k + 1), Ohms{means_.references[k]}, volts));
}

void StepBuilder::contact(const Probe& p, bool by_row1, bool closing) {
  if (auto step = make_.contact(p, by_row1)) add_step(plan_, std::move(*step)).closing = closing;
}

// A representative is source in some isolation steps and return in others; the further probes of a
// group are returns only. At the end only those that no loaded control proved.
void StepBuilder::contacts(bool closing) {
  check_says_no();
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    if (closing && partner(i)) continue;
    for (std::size_t k = 0; k < groups_[i].probes.size(); ++k) {
      const Probe& p = probe(groups_[i], k);
      if (k == 0) contact(p, true, closing);
      if (closing ? k == 0 && isolated_[i] : k > 0 || isolated_[i]) contact(p, false, closing);
    }
  }
}

// A check whose input hangs high says yes to every tip.
void StepBuilder::check_says_no() {
  if (!plan_.contact_check) return;
  std::set<Channel> used;
  for (const Probe& p : plan_.placements[placement_].probes) {
    used.insert(p.channel);
    if (p.twin) used.insert(*p.twin);
  }
  Channel free = 1;
  while (used.contains(free)) ++free;
  if (free > channels_) return;
  add_step(plan_, make_.no_contact(free, true));
  add_step(plan_, make_.no_contact(free, false));
}

void StepBuilder::conducts(const Probe& a, const Probe& b, std::vector<GroupId> groups) {
  add_step(plan_, make_.continuity(a, b, std::move(groups), std::nullopt));
}

void StepBuilder::continuity(const GroupInPlacement& g) {
  for (std::size_t k = 1; k < g.probes.size(); ++k) conducts(probe(g, 0), probe(g, k), {g.group});
  // Without another proof of contact the representative's switch to the return row is proven by
  // conducting.
  if (g.probes.size() > 1 && !plan_.contact_check && !probe(g, 0).twin)
    conducts(probe(g, 1), probe(g, 0), {g.group});
}

// A drawn tie is copper that must conduct, from one net to the other.
void StepBuilder::ties() {
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      const GroupId a = groups_[k].group, b = groups_[i].group;
      if (!share_copper(board_.expectation.group(a), board_.expectation.group(b)) ||
          !expect::may_conduct(board_, a, b))
        continue;
      conducts(probe(groups_[k], 0), probe(groups_[i], 0), {a, b});
      break;
    }
  }
}

void StepBuilder::controls(const std::vector<Partition>& parts) {
  const Volts volts = board_.design.board.limits.voltage;
  // All that any step of the block closes, on one row alone: a stuck switch shows at least as well
  // as with the channels of one step.
  if (!parts.empty()) {
    std::vector<std::size_t> all = parts.front().source;
    all.insert(all.end(), parts.front().ret.begin(), parts.front().ret.end());
    add_step(plan_, make_.open_on_row_1(channels_of(all), volts));
    add_step(plan_, make_.open_on_row_2(channels_of(all), volts));
  }
  references(volts);
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    const auto other = partner(g);
    if (!other) continue;
    add_step(plan_, make_.control_short(probe(groups_[g], 0).channel, *other, volts)).groups = {
        groups_[g].group};
    return;
  }
}

// With all channels on one row alone nothing can conduct, unless a switch of the other row is stuck
// closed or the meter is stuck.
void StepBuilder::nothing_conducts() {
  std::vector<Channel> all;
  for (const Probe& p : plan_.placements[placement_].probes) all.push_back(p.channel);
  add_step(plan_, make_.open_on_row_1(all, Volts{0}));
  add_step(plan_, make_.open_on_row_2(all, Volts{0}));
}

void StepBuilder::isolation(const std::vector<Partition>& parts, bool closing) {
  for (const Partition& p : parts) {
    if (p.source.empty() || p.ret.empty()) continue;
    add_step(plan_, make_.isolation(channels_of(p.source), channels_of(p.ret), ids_of(p))).closing =
        closing;
  }
}

std::optional<Channel> StepBuilder::partner(std::size_t group) const {
  const auto& twin = probe(groups_[group], 0).twin;
  if (twin) return twin;
  if (groups_[group].probes.size() < 2) return std::nullopt;
  return probe(groups_[group], 1).channel;
}

// Each switch that the block closes, alone on its row against a partner that is known to conduct to
// it, with as many others closed as in the largest pool: a coil supply that sags, a tip that the test
// voltage lifts, or a meter that gives up, reads every pool well.
void StepBuilder::loaded(const std::vector<Partition>& parts) {
  const Volts volts = board_.design.board.limits.voltage;
  std::vector<std::size_t> all;
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    if (isolated_[g]) all.push_back(g);
  }
  const auto used = [&](std::size_t g, std::vector<std::size_t> Partition::*side) {
    return std::ranges::any_of(parts, [&](const Partition& p) {
      return !p.source.empty() && !p.ret.empty() &&
             std::ranges::find(p.*side, g) != (p.*side).end();
    });
  };
  for (const std::size_t g : all) {
    const auto other = partner(g);
    if (!other) continue;
    const Channel own = probe(groups_[g], 0).channel;
    std::vector<Channel> rest = channels_of(all);
    std::erase(rest, own);
    // The tip at the test voltage once; its second switch by current, which takes no mains period.
    const bool source = used(g, &Partition::source);
    if (source) add_step(plan_, make_.loaded_on_row_1(own, *other, rest, volts));
    if (used(g, &Partition::ret))
      add_step(plan_, make_.loaded_on_row_2(own, *other, rest, source ? Volts{0} : volts));
  }
}

// A tip with no partner may lift at the test voltage, and no control would tell: by current, where
// its contact was proven, metal between it and another still shows.
void StepBuilder::by_current(const std::vector<Partition>& parts) {
  const auto alone = [&](std::size_t g) { return !partner(g); };
  for (const Partition& p : parts) {
    if (p.source.empty() || p.ret.empty()) continue;
    if (std::ranges::any_of(p.source, alone) || std::ranges::any_of(p.ret, alone))
      add_step(plan_,
               make_.isolation_by_current(channels_of(p.source), channels_of(p.ret), ids_of(p)));
  }
}

void StepBuilder::placement(std::size_t index) {
  placement_ = index;
  make_ = StepMaker(board_.design.board.limits, plan_.contact_check, index);
  groups_ = groups_in(board_, plan_.placements[index]);
  const std::vector<Partition> parts = partitions(board_, groups_);
  isolated_.assign(groups_.size(), false);
  for (const Partition& p : parts) {
    for (std::size_t g : p.source) isolated_[g] = true;
    for (std::size_t g : p.ret) isolated_[g] = true;
  }
  make_.block(++block_);
  voltages();
  references(Volts{0});
  nothing_conducts();
  contacts(false);
  for (const GroupInPlacement& g : groups_) continuity(g);
  ties();
  by_current(parts);
  nothing_conducts();
  make_.block(++block_);
  controls(parts);
  isolation(parts, false);
  loaded(parts);
  isolation(parts, true);
  controls(parts);
  make_.block(++block_);
  contacts(true);
  nothing_conducts();
  references(Volts{0});
}

}  // namespace isthmus::plan
