// SPDX-License-Identifier: Apache-2.0
#include "isthmus/plan/landing.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace isthmus::plan {
namespace {

Probe probe_of(const Round& round, const Standing& standing) {
  const Needle& needle = round.needles.at(standing.needle);
  return {needle.channel, standing.point, standing.at, needle.fork, standing.side, false};
}

class Landing {
 public:
  Landing(const expect::Board& board, const Plan& plan, std::size_t placement, Channel needle,
          std::size_t block, const AtLanding& at)
      : plan_(plan),
        placement_(plan.placements.at(placement)),
        needle_(placement_.probe(needle)),
        volts_(board.design.board.limits.voltage),
        make_(board.design.board.limits, plan.contact_check, placement),
        own_(own_channels(board, placement_, needle)),
        others_(other_channels(board, placement_, needle)),
        heard_(at.heard),
        load_(at.idle) {
    for (const Probe& p : placement_.probes) all_.push_back(p.channel);
    // With another needle beside it a later pool has more switches closed than this one.
    load_.insert(load_.end(), all_.begin(), all_.end());
    std::ranges::sort(load_);
    make_.block(block);
    for (const Channel c : own_) groups_ = group_of(board, c);
    if (groups_.empty()) groups_ = group_of(board, needle);
  }

  std::vector<Step> gentle(const expect::Board& board, const Means& means, bool with_references) {
    // Where nothing conducts to the needle, only they show that the meter does not sleep.
    with_references = with_references || heard_.empty();
    std::vector<Channel> far = all_;
    std::erase(far, needle_.channel);
    if (!far.empty()) steps_.push_back(make_.board_voltage({needle_.channel}, far));
    nothing_conducts(Volts{0});
    contacts();
    if (with_references) references(means, volts_);
    nothing_conducts(volts_);
    loaded();
    if (!others_.empty()) {
      std::vector<GroupId> groups = groups_;
      for (const Channel c : others_) {
        const auto g = group_of(board, c);
        groups.insert(groups.end(), g.begin(), g.end());
      }
      steps_.push_back(make_.isolation({needle_.channel}, others_, std::move(groups)));
    }
    loaded();
    nothing_conducts(volts_);
    if (with_references) references(means, volts_);
    own_switches();
    contacts();
    for (std::size_t i = steps_.size(); i-- > 0 && steps_[i].kind != StepKind::isolation;)
      steps_[i].closing = true;
    return std::move(steps_);
  }

  // The references by current stand here: at 1 mA an offset of the meter is a good part of them.
  std::vector<Step> resistance(const Means& means, bool with_references) {
    if (own_.empty()) return {};
    make_.block(make_.block() + 1);
    if (with_references) references(means, Volts{0});
    nothing_conducts(Volts{0});
    // Where nothing conducts, that the needle stands must be known in this block too.
    if (auto step = make_.contact(needle_, true)) steps_.push_back(std::move(*step));
    for (const Channel c : own_)
      steps_.push_back(make_.continuity(needle_, placement_.probe(c), groups_, std::nullopt));
    nothing_conducts(Volts{0});
    return std::move(steps_);
  }

 private:
  [[nodiscard]] std::vector<GroupId> group_of(const expect::Board& board, Channel c) const {
    const auto& group = board.expectation.point(placement_.probe(c).point).group;
    return group ? std::vector{*group} : std::vector<GroupId>{};
  }

  void nothing_conducts(Volts volts) {
    steps_.push_back(make_.open_on_row_1(all_, volts));
    steps_.push_back(make_.open_on_row_2(all_, volts));
  }

  void references(const Means& means, Volts volts) {
    for (std::size_t k = 0; k < means.references.size(); ++k)
      steps_.push_back(make_.reference(static_cast<int>(k + 1), Ohms{means.references[k]}, volts));
  }

  // By the adapter's check every clip is proven in each landing; without it a clip is, when a needle
  // conducts to it.
  void contacts() {
    for (const Probe& p : placement_.probes) {
      if (p.clip && !plan_.contact_check) continue;
      for (const bool row1 : {true, false}) {
        if (p.clip && row1) continue;  // source in no pool
        if (auto step = make_.contact(p, row1)) steps_.push_back(std::move(*step));
      }
    }
    for (const Channel c : own_)
      steps_.push_back(make_.control_short(needle_.channel, c, Volts{0}));
  }

  // The needle alone on its row at the test voltage, with as many closed as in the pool.
  void loaded() {
    if (const auto other = partner())
      steps_.push_back(
          make_.loaded_on_row_1(needle_.channel, *other, without(*other, needle_.channel), volts_));
  }

  void own_switches() {
    for (const Channel c : heard_)
      steps_.push_back(
          make_.loaded_on_row_2(c, needle_.channel, without(c, needle_.channel), volts_));
    // A forked needle that stands is a return too, and its fork shows that its switch holds.
    for (const Probe& p : placement_.probes) {
      if (p.clip || !p.twin || p.channel == needle_.channel) continue;
      if (std::ranges::find(others_, p.channel) == others_.end()) continue;
      steps_.push_back(
          make_.loaded_on_row_2(p.channel, *p.twin, without(p.channel, *p.twin), volts_));
    }
  }

  [[nodiscard]] std::optional<Channel> partner() const {
    if (!heard_.empty()) return heard_.front();
    return needle_.twin;
  }

  [[nodiscard]] std::vector<Channel> without(Channel a, Channel b) const {
    std::vector<Channel> list = load_;
    std::erase(list, a);
    std::erase(list, b);
    return list;
  }

  const Plan& plan_;
  const Placement& placement_;
  const Probe& needle_;
  Volts volts_;
  StepMaker make_;
  std::vector<Channel> own_, others_, heard_, load_, all_;
  std::vector<GroupId> groups_;
  std::vector<Step> steps_;
};

}  // namespace

Placement placement_of(const expect::Board& board, const Round& round, std::size_t number,
                       const Standing& landed, const std::vector<Standing>& others) {
  Placement p;
  p.name = fmt::format("touch {}", number);
  p.side = landed.side;
  for (const HandClip& clip : round.clips) {
    const Position at = board.expectation.point(clip.point).at;
    p.probes.push_back({clip.channel, clip.point, at, std::nullopt, clip.side, true});
  }
  p.probes.push_back(probe_of(round, landed));
  for (const Standing& other : others) p.probes.push_back(probe_of(round, other));
  std::ranges::sort(p.probes, {}, &Probe::channel);
  return p;
}

std::vector<std::uint32_t> nodes_under(const expect::Board& board, const Probe& probe) {
  if (probe.clip) return clip_nodes(board, {probe.channel, probe.point, probe.side});
  const std::uint32_t n = expect::touched_node(board, probe.point, probe.side, probe.at);
  return n == expect::Wiring::kNone ? std::vector<std::uint32_t>{} : std::vector{n};
}

namespace {

std::vector<std::uint32_t> pieces_under(const expect::Board& board, const Probe& probe) {
  std::vector<std::uint32_t> pieces;
  for (const std::uint32_t n : nodes_under(board, probe))
    pieces.push_back(board.faults.wiring.nodes[n].piece);
  return pieces;
}

// Those of which `is` says so of some two pieces, or of all where `all`.
template <class Is>
std::vector<Channel> channels_by_piece(const expect::Board& board, const Placement& placement,
                                       Channel needle, bool all, Is is) {
  std::vector<Channel> list;
  const auto own = pieces_under(board, placement.probe(needle));
  if (own.empty()) return list;
  for (const Probe& p : placement.probes) {
    if (p.channel == needle) continue;
    const auto pieces = pieces_under(board, p);
    const auto holds = [&](std::uint32_t piece) { return is(own.front(), piece); };
    const bool in = all ? !pieces.empty() && std::ranges::all_of(pieces, holds)
                        : std::ranges::any_of(pieces, holds);
    if (in) list.push_back(p.channel);
  }
  return list;
}

}  // namespace

std::vector<Channel> own_channels(const expect::Board& board, const Placement& placement,
                                  Channel needle) {
  return channels_by_piece(board, placement, needle, false,
                           [](std::uint32_t a, std::uint32_t b) { return a == b; });
}

std::vector<Channel> other_channels(const expect::Board& board, const Placement& placement,
                                    Channel needle) {
  const expect::Wiring& wiring = board.faults.wiring;
  return channels_by_piece(board, placement, needle, true, [&](std::uint32_t a, std::uint32_t b) {
    return a != b && !wiring.may_conduct(a, b);
  });
}

LandingSteps steps_of_landing(const expect::Board& board, const Plan& plan, std::size_t placement,
                              Channel needle, const Means& means, std::size_t first_block,
                              const AtLanding& at) {
  Landing landing(board, plan, placement, needle, first_block, at);
  LandingSteps out;
  out.gentle = landing.gentle(board, means, at.with_references);
  out.resistance = landing.resistance(means, at.with_references);
  return out;
}

}  // namespace isthmus::plan
