// SPDX-License-Identifier: Apache-2.0
#include "diagnose/evidence.hpp"

#include <algorithm>

#include "diagnose/contacts.hpp"

namespace isthmus::diagnose {
namespace {

using plan::Step;
using plan::StepKind;

std::pair<Channel, Channel> ordered(Channel a, Channel b) {
  return {std::min(a, b), std::max(a, b)};
}

void take_isolation(const Step& step, const plan::Reading& reading,
                    std::vector<IsolationReading>& isolations) {
  if (!usable(reading) || step.source.empty() || step.ret.empty()) return;
  IsolationReading r{step.source, step.ret, reading.sequence, step.block, false, 0, 0};
  if (const auto* m = std::get_if<plan::Measured>(&reading.outcome)) {
    r.ohms = m->value;
    r.uncertainty = m->uncertainty;
  } else {
    r.over_range = true;
  }
  isolations.push_back(std::move(r));
}

}  // namespace

double Heard::least() const { return std::ranges::min(lows.empty() ? dull : lows); }

bool is_low(const plan::Reading& reading, Ohms limit) {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (!usable(reading) || !m) return false;
  return m->value <= limit.value - kGuard * m->uncertainty &&
         m->value >= -kBelowZero * m->uncertainty;
}

bool touches_metal(const plan::Reading& reading, Ohms limit) {
  return is_low(reading, Ohms{std::max(limit.value, kMostTarnish)});
}

bool is_high(const plan::Reading& reading, Ohms limit) {
  if (!usable(reading)) return false;
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  return !m || m->value > limit.value + kGuard * m->uncertainty;
}

Evidence::Evidence(const plan::Plan& plan) : plan_(plan), placed_(plan.placements.size()) {
  note_rework();
}

Evidence::Evidence(const plan::Plan& plan, std::span<const plan::Reading> readings)
    : Evidence(plan) {
  for (const plan::Reading& r : readings) take(r);
  settle();
}

void Evidence::note_rework() {
  for (const plan::Reworked& r : plan_.reworked) {
    for (const PointId p : r.points) reworked_[p] = std::max(reworked_[p], r.before);
  }
}

bool Evidence::stale(std::size_t placement, Channel channel) const {
  if (reworked_.empty()) return false;
  const plan::Placement& at = plan_.placements[placement];
  const auto probe = std::ranges::find_if(
      at.probes, [&](const plan::Probe& p) { return p.channel == channel || p.twin == channel; });
  if (probe == at.probes.end()) return false;
  const auto before = reworked_.find(probe->point);
  return before != reworked_.end() && placement < before->second;
}

void Evidence::rework() {
  settle();
  note_rework();
  std::set<std::size_t> rounds;
  for (std::size_t p = 0; p < placed_.size(); ++p) {
    take_anew(placed_[p]);
    hear(p);
    if (const auto round = plan_.placements[p].round) rounds.insert(*round);
  }
  for (const std::size_t round : rounds) settle_round(round);
}

void Evidence::take(const plan::Reading& reading) {
  const Step& step = plan_.step(reading.step);
  if (!plan_.placements[step.placement].taken_back.empty()) return;
  Placed& placed = placed_[step.placement];
  placed.reached = true;
  placed.heard_no = placed.heard_no || step.expects_no_contact();
  placed.first = std::min(placed.first, reading.sequence);
  placed.last = std::max(placed.last, reading.sequence);
  // A landing's first step asks for voltage on the board.
  if (step.kind == StepKind::board_voltage && !step.source.empty() && !placed.landed)
    placed.landed = step.source.front();
  placed.blocks[step.block].take(step, reading);
  placed.fresh.insert(step.block);
  fresh_.insert(step.placement);
}

void Evidence::settle() {
  std::set<std::size_t> rounds;
  for (const std::size_t p : fresh_) {
    settle(p);
    if (const auto round = plan_.placements[p].round) rounds.insert(*round);
  }
  for (const std::size_t round : rounds) settle_round(round);
  fresh_.clear();
}

void Evidence::take_back(std::size_t placement) {
  for (const auto& [number, block] : placed_[placement].blocks) bad_blocks_.erase(number);
  placed_[placement] = {};
  fresh_.erase(placement);
  if (const auto round = plan_.placements[placement].round) settle_round(*round);
}

void Evidence::settle(std::size_t placement) {
  Placed& placed = placed_[placement];
  bool recanted = false;  // a block that counted does so no more
  for (const std::size_t number : placed.fresh) {
    const Block& block = placed.blocks.at(number);
    placed.distrusted = placed.distrusted || block.distrusted();
    if (block.good()) {
      bad_blocks_.erase(number);
      take_in(placed, number);
    } else {
      bad_blocks_.insert(number);
      recanted = recanted || placed.taken.contains(number);
    }
  }
  placed.fresh.clear();
  if (recanted) take_anew(placed);
  hear(placement);
}

void Evidence::take_anew(Placed& placed) {
  placed.said = {};
  placed.taken.clear();
  for (const auto& [number, block] : placed.blocks) {
    if (block.good()) take_in(placed, number);
  }
}

void Evidence::hear(std::size_t placement) {
  Placed& placed = placed_[placement];
  placed.said.heard =
      between_probes(plan_.placements[placement], placed.said.read, placed.said.twins);
  const auto leakage = [&](int row, const std::vector<Channel>& channels) {
    const auto it = placed.said.leakages.find({row, channels});
    return it == placed.said.leakages.end() ? 0.0 : it->second;
  };
  for (IsolationReading& r : placed.said.isolations)
    r.leakage = leakage(1, r.source) + leakage(2, r.ret);
}

void Evidence::take_in(Placed& placed, std::size_t block) {
  const std::vector<plan::Reading>& readings = placed.blocks.at(block).readings();
  for (std::size_t& n = placed.taken[block]; n < readings.size(); ++n)
    take_in(plan_.step(readings[n].step), readings[n], placed.said);
}

void Evidence::take_in(const Step& step, const plan::Reading& reading, Said& said) const {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  switch (step.kind) {
    case StepKind::contact:
      return take_contact(step, reading, said);
    case StepKind::continuity:
      return take_continuity(step, reading, said);
    case StepKind::isolation:
      if (!has_stale(step)) return take_isolation(step, reading, said.isolations);
      // A pool that conducted may have done so by what was reworked.
      if (!is_high(reading, step.limit)) return;
      return take_isolation(fresh(step), reading, said.isolations);
    case StepKind::isolation_by_current:
      if (is_high(reading, step.limit)) take_isolation(fresh(step), reading, said.apart_by_current);
      return;
    case StepKind::control_open:
      if (usable(reading) && m && m->value > 0 && step.volts.value != 0) {
        const bool high = step.ret.empty();
        double& leakage = said.leakages[{high ? 1 : 2, high ? step.source : step.ret}];
        leakage = std::max(leakage, 1 / m->value);
      }
      return;
    case StepKind::control_short:
      return take_loaded(step, reading, said);
    case StepKind::resistance:
      if (has_stale(step)) return;
      said.tried_by_current.insert(ordered(step.source.at(0), step.ret.at(0)));
      if (m && usable(reading)) {
        said.by_current[ordered(step.source.at(0), step.ret.at(0))] = {m->value, m->uncertainty};
      }
      return;
    case StepKind::board_voltage:
    case StepKind::reference:
      return;  // nothing of the board, or of its block alone
  }
}

void Evidence::prove(Touches& touches, int row, Channel channel, std::uint32_t sequence) {
  touches.proven[{row, channel}].push_back(sequence);
}

// The plan asks whether two conduct where they are on one piece of copper; what the diagnosis asked
// for beside may be of any two.
void Evidence::meet(const Step& step, const plan::Reading& reading, Touches& touches) {
  if (!step.wanted) touches.met[ordered(step.source[0], step.ret[0])].push_back(reading.sequence);
}

// A tip and its twin that touch each other conduct as well as two on one pad, unless they were heard
// apart in the air.
bool Evidence::against_own_twin(std::size_t placement, Channel channel,
                                const std::vector<Channel>& against) const {
  const plan::Placement& p = plan_.placements[placement];
  if (p.tried_in_air) return false;
  return std::ranges::any_of(p.probes, [&](const plan::Probe& probe) {
    return (probe.channel == channel && probe.twin && std::ranges::count(against, *probe.twin)) ||
           (probe.twin == channel && std::ranges::count(against, probe.channel));
  });
}

// A channel that is alone on its row is proven, whatever of the other row conducts to it.
void Evidence::take_loaded(const Step& step, const plan::Reading& reading, Said& said) const {
  const std::size_t closed = step.source.size() + step.ret.size();
  if (!touches_metal(reading, step.limit)) return;
  const auto proven = [&](int row, const std::vector<Channel>& channels,
                          const std::vector<Channel>& against) {
    if (channels.size() != 1) return;
    std::size_t& most = said.loads[{row, channels[0]}];
    most = std::max(most, closed);
    if (against_own_twin(step.placement, channels[0], against)) return;
    prove(said.touches, row, channels[0], reading.sequence);
    if (step.volts.value > 0) said.at_voltage.insert(channels[0]);
  };
  proven(1, step.source, step.ret);
  proven(2, step.ret, step.source);
  if (step.source.size() == 1 && step.ret.size() == 1) meet(step, reading, said.touches);
}

bool Evidence::can_say_no(std::size_t placement) const {
  const plan::Placement& p = plan_.placements[placement];
  // A needle lands where its check, that said no for a tenth of a second, says yes.
  return p.tried_in_air || placed_[placement].heard_no || p.round;
}

void Evidence::take_contact(const Step& step, const plan::Reading& reading, Said& said) const {
  if (step.expects_no_contact()) return;
  Touches& t = said.touches;
  const int row = step.source.empty() ? 2 : 1;
  const Channel probe = step.tip();
  ++t.tries[probe];
  if (!usable(reading)) return;
  if (step.by_check()) {
    const auto* m = std::get_if<plan::Measured>(&reading.outcome);
    if (!m || m->value <= 0.5) {
      ++t.missing[probe];
      t.gone[probe].push_back(reading.sequence);
    } else if (can_say_no(step.placement)) {
      prove(t, row, probe, reading.sequence);
    } else {
      t.by_check_alone.insert(probe);
    }
    return;
  }
  if (reads_nothing(reading)) return;
  if (touches_metal(reading, step.limit)) {
    said.twins[probe].push_back(std::get<plan::Measured>(reading.outcome).value);
    if (against_own_twin(step.placement, step.source[0], step.ret)) {
      t.by_twin_alone.insert(probe);
      return;
    }
    prove(t, 1, step.source[0], reading.sequence);
    prove(t, 2, step.ret[0], reading.sequence);
  } else {
    ++t.missing[probe];
  }
}

// Two contacts in line have milliohms at the least: by four wires, nothing at all is a sense switch
// that does not close. Common practice, no source.
bool Evidence::reads_nothing(const plan::Reading& reading) const {
  constexpr double kLeast = 0.0005;
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  return m && plan_.wires == 4 && m->value < kLeast + kBelowZero * m->uncertainty;
}

// Far less than the copper between the tips can have: a sense switch that does not close reads
// nothing at all. Foil and etch never make copper four times as thick or wide; common practice, no
// source.
bool Evidence::too_little(const Step& step, const plan::Reading& reading) const {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (!m || !step.predicted || (plan_.wires != 4 && !plan_.zeroed)) return false;
  return m->value + kBelowZero * m->uncertainty < step.predicted->ohms.value / 4;
}

void Evidence::take_continuity(const Step& step, const plan::Reading& reading, Said& said) const {
  const Channel a = step.source.at(0), b = step.ret.at(0);
  if (has_stale(step)) {  // of the tips alone it says something still
    if (!is_low(reading, step.limit)) return;
    prove(said.touches, 1, a, reading.sequence);
    prove(said.touches, 2, b, reading.sequence);
    return meet(step, reading, said.touches);
  }
  Heard& h = said.read[ordered(a, b)];
  h.limit = step.limit.value;
  if (step.predicted) h.predicted = step.predicted;
  const bool fair = !too_little(step, reading);
  if (fair && is_low(reading, step.limit)) {
    h.lows.push_back(std::get<plan::Measured>(reading.outcome).value);
    prove(said.touches, 1, a, reading.sequence);
    prove(said.touches, 2, b, reading.sequence);
    meet(step, reading, said.touches);
  } else if (fair && is_high(reading, step.limit)) {
    if (touches_metal(reading, step.limit)) {
      h.dull.push_back(std::get<plan::Measured>(reading.outcome).value);
    } else {
      ++h.highs;
      said.touches.apart[ordered(a, b)].push_back(reading.sequence);
    }
  } else {
    ++h.none;
  }
}

Heard Evidence::between(std::size_t placement, Channel a, Channel b) const {
  const auto it = placed_[placement].said.heard.find(ordered(a, b));
  return it == placed_[placement].said.heard.end() ? Heard{} : it->second;
}

const std::map<std::pair<Channel, Channel>, Heard>& Evidence::heard(std::size_t placement) const {
  return placed_[placement].said.heard;
}

std::optional<double> Evidence::twin_ohms(std::size_t placement, Channel probe) const {
  const auto it = placed_[placement].said.twins.find(probe);
  if (it == placed_[placement].said.twins.end()) return std::nullopt;
  return middle_of(it->second);
}

// One that is open says so of each of its channels; without those of reworked copper it does of the
// others.
plan::Step Evidence::fresh(const Step& step) const {
  Step out = step;
  for (auto* side : {&out.source, &out.ret})
    std::erase_if(*side, [&](Channel c) { return stale(step.placement, c); });
  return out;
}

bool Evidence::has_stale(const Step& step) const {
  const auto is = [&](Channel c) { return stale(step.placement, c); };
  return std::ranges::any_of(step.source, is) || std::ranges::any_of(step.ret, is);
}

Touch Evidence::touch(std::size_t placement, Channel channel) const {
  if (stale(placement, channel)) return Touch::unknown;
  const Touches& t = placed_[placement].said.touches;
  const bool proven = t.proven.contains({1, channel}) || t.proven.contains({2, channel});
  const auto missing = t.missing.find(channel);
  if (missing != t.missing.end() && missing->second > 0)
    return proven ? Touch::unknown : Touch::missing;
  const RoundProofs* round = kept(placement, channel);
  const Placed& placed = placed_[placement];
  // A contact proves a clip that hangs where it should, not one that hangs anywhere.
  if (proven && (!round || round->hangs(channel, placed.first, placed.last))) return Touch::proven;
  const bool stayed = round && placed.reached && round->stayed(channel, placed.first, placed.last);
  return stayed ? Touch::proven : Touch::unknown;
}

bool Evidence::proven_around(std::size_t placement, int row, Channel channel,
                             std::uint32_t sequence) const {
  if (const RoundProofs* round = round_of(placement, channel))
    return round->proven_around(row, channel, sequence);
  // A needle that stands: its contact by either switch, around, and this switch while it stood.
  if (const RoundProofs* stand = stand_of(placement, channel)) {
    const std::size_t from = stands_.at({placement, channel});
    const auto by_this_switch = [&](const auto& at) {
      return at.first.second == channel && at.second == from &&
             placed_[at.first.first].said.touches.proven.contains({row, channel});
    };
    return stand->stayed(channel, sequence, sequence) &&
           std::ranges::any_of(stands_, by_this_switch);
  }
  const auto it = placed_[placement].said.touches.proven.find({row, channel});
  if (it == placed_[placement].said.touches.proven.end()) return false;
  return std::ranges::any_of(it->second, [&](auto s) { return s < sequence; }) &&
         std::ranges::any_of(it->second, [&](auto s) { return s > sequence; });
}

std::optional<Channel> Evidence::partner(std::size_t placement, Channel channel) const {
  for (const plan::Probe& p : plan_.placements[placement].probes) {
    if (p.channel == channel && p.twin && touch(placement, channel) == Touch::proven) return p.twin;
  }
  for (const auto& [pair, h] : heard(placement)) {
    if (!h.conducts()) continue;
    if (pair.first == channel) return pair.second;
    if (pair.second == channel) return pair.first;
  }
  return std::nullopt;
}

bool Evidence::holds_under_load(std::size_t placement, int row, Channel channel,
                                std::size_t closed) const {
  if (const RoundProofs* round = round_of(placement, channel))
    return round->holds_under_load(row, channel, closed);
  const Said& said = placed_[placement].said;
  const auto at = said.loads.find({row, channel});
  const bool held = at != said.loads.end() && at->second >= closed;
  return (held && said.at_voltage.contains(channel)) || !partner(placement, channel);
}

bool Evidence::contact_unread(std::size_t placement, Channel channel) const {
  const Touches& t = placed_[placement].said.touches;
  return contact_tries(placement, channel) > 0 && !t.missing.contains(channel) &&
         !t.by_twin_alone.contains(channel) && !t.by_check_alone.contains(channel) &&
         !t.proven.contains({1, channel}) && !t.proven.contains({2, channel});
}

bool Evidence::by_check_alone(std::size_t placement, Channel channel) const {
  const Touches& t = placed_[placement].said.touches;
  return t.by_check_alone.contains(channel) && !t.proven.contains({1, channel}) &&
         !t.proven.contains({2, channel});
}

std::size_t Evidence::contact_tries(std::size_t placement, Channel channel) const {
  const auto it = placed_[placement].said.touches.tries.find(channel);
  return it == placed_[placement].said.touches.tries.end() ? 0 : it->second;
}

const std::vector<IsolationReading>& Evidence::apart_by_current(std::size_t placement) const {
  return placed_[placement].said.apart_by_current;
}

const std::vector<IsolationReading>& Evidence::isolations(std::size_t placement) const {
  return placed_[placement].said.isolations;
}

std::optional<std::pair<double, double>> Evidence::by_current(std::size_t placement, Channel a,
                                                              Channel b) const {
  const auto it = placed_[placement].said.by_current.find(ordered(a, b));
  return it == placed_[placement].said.by_current.end() ? std::nullopt : std::optional(it->second);
}

bool Evidence::tried_by_current(std::size_t placement, Channel a, Channel b) const {
  return placed_[placement].said.tried_by_current.contains(ordered(a, b));
}

bool Evidence::reached(std::size_t placement) const { return placed_[placement].reached; }

}  // namespace isthmus::diagnose
