// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "diagnose/excess.hpp"
#include "diagnose/isolation.hpp"

namespace isthmus::diagnose {
namespace {

using plan::Step;
using plan::StepKind;

constexpr std::size_t kMostAsked = 3;
constexpr double kByCurrent = 1000;  // ohms; above it the source cannot drive its current

// Collects the steps of one round, controls around them.
class Batch {
 public:
  Batch(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
        std::size_t placement)
      : board_(board), plan_(plan), evidence_(evidence), placement_(placement) {
    for (const Step& s : plan.steps) block_ = std::max(block_, s.block);
    ++block_;
  }

  void contact(Channel c);
  void continuity(Channel a, Channel b, GroupId group, std::optional<copper::Predicted> predicted);
  void isolation(const Question& q);
  void resistance(Channel a, Channel b) { add(make(StepKind::resistance, {a}, {b})); }
  std::vector<Step> finish();

 private:
  void add(Step step);
  void prove(Channel c, std::vector<Step>& into) const;
  void controls(Volts volts, std::vector<Step>& into) const;
  [[nodiscard]] Step make(StepKind kind, Channels source, Channels ret) const;

  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  std::size_t placement_;
  std::size_t block_{};
  std::vector<Step> body_;
  std::set<Channel> isolated_;
};

Step Batch::make(StepKind kind, Channels source, Channels ret) const {
  Step step;
  step.placement = placement_;
  step.kind = kind;
  step.source = std::move(source);
  step.ret = std::move(ret);
  step.block = block_;
  step.wanted = true;
  return step;
}

void Batch::add(Step step) {
  if (evidence_.times_asked(step) < kMostAsked) body_.push_back(std::move(step));
}

// A tip is proven as the plan does it: by the adapter's check, by its twin, or by conducting to a
// fellow.
void Batch::prove(Channel c, std::vector<Step>& into) const {
  const plan::Probe& p = plan_.placements[placement_].probe(c);
  const auto push = [&](Step step, bool by_row1) {
    step.contact_by_row1 = by_row1;
    step.points = {p.point};
    step.closing = true;
    step.limit = board_.design.board.limits.continuity;
    into.push_back(std::move(step));
  };
  if (plan_.contact_check) {
    push(make(StepKind::contact, {c}, {}), true);
    push(make(StepKind::contact, {}, {c}), false);
  } else if (p.twin) {
    push(make(StepKind::contact, {c}, {*p.twin}), true);
    push(make(StepKind::contact, {*p.twin}, {c}), false);
  } else {
    for (const auto& [pair, heard] : evidence_.heard(placement_)) {
      if (!heard.conducts() || (pair.first != c && pair.second != c)) continue;
      const Channel fellow = pair.first == c ? pair.second : pair.first;
      push(make(StepKind::continuity, {c}, {fellow}), true);
      push(make(StepKind::continuity, {fellow}, {c}), true);
      into.back().predicted = into[into.size() - 2].predicted = heard.predicted;
      return;
    }
  }
}

void Batch::contact(Channel c) {
  std::vector<Step> steps;
  prove(c, steps);
  for (Step& s : steps) {
    if (s.kind == StepKind::contact) add(std::move(s));
  }
}

void Batch::continuity(Channel a, Channel b, GroupId group,
                       std::optional<copper::Predicted> predicted) {
  Step step = make(StepKind::continuity, {a}, {b});
  step.groups = {group};
  step.limit = board_.design.board.limits.continuity;
  step.predicted = predicted;
  const auto& placement = plan_.placements[placement_];
  step.points = {placement.probe(a).point, placement.probe(b).point};
  add(std::move(step));
}

void Batch::isolation(const Question& q) {
  Step step = make(StepKind::isolation, q.source, q.ret);
  step.limit = board_.design.board.limits.isolation;
  step.volts = board_.design.board.limits.voltage;
  const auto& placement = plan_.placements[placement_];
  for (const Channels* side : {&q.source, &q.ret}) {
    for (Channel c : *side) {
      if (const auto& g = board_.expectation.point(placement.probe(c).point).group)
        step.groups.push_back(*g);
    }
  }
  std::ranges::sort(step.groups);
  if (evidence_.times_asked(step) >= kMostAsked) return;
  // What the switches leak by themselves, with the same channels closed.
  for (const bool high : {true, false}) {
    if (q.source.size() + q.ret.size() > 2) break;
    Step alone =
        high ? make(StepKind::control_open, q.source, {}) : make(StepKind::control_open, {}, q.ret);
    alone.volts = step.volts;
    alone.limit = step.limit;
    body_.push_back(std::move(alone));
  }
  isolated_.insert(q.source.begin(), q.source.end());
  isolated_.insert(q.ret.begin(), q.ret.end());
  body_.push_back(std::move(step));
}

void Batch::controls(Volts volts, std::vector<Step>& into) const {
  const formats::LimitKeys& limits = board_.design.board.limits;
  Channels all;
  for (const plan::Probe& p : plan_.placements[placement_].probes) all.push_back(p.channel);
  for (bool high : {true, false}) {
    Step step =
        high ? make(StepKind::control_open, all, {}) : make(StepKind::control_open, {}, all);
    step.volts = volts;
    step.limit = volts.value > 0 ? limits.isolation : limits.continuity * 10;
    into.push_back(std::move(step));
  }
  const auto low = [&](Channel a, Channel b) {
    Step step = make(StepKind::control_short, {a}, {b});
    step.volts = volts;
    step.limit = volts.value > 0 ? limits.bridge : limits.continuity;
    into.push_back(std::move(step));
  };
  for (const auto& [pair, heard] : evidence_.heard(placement_)) {
    if (heard.conducts()) return low(pair.first, pair.second);
  }
  for (const plan::Probe& p : plan_.placements[placement_].probes) {
    if (p.twin && evidence_.touch(placement_, p.channel) == Touch::proven)
      return low(p.channel, *p.twin);
  }
  std::set<int> done;
  for (const Step& s : plan_.steps) {
    if (s.kind != StepKind::reference || !done.insert(s.reference).second) continue;
    Step step = make(StepKind::reference, {}, {});
    step.reference = s.reference;
    step.limit = s.limit;
    step.volts = volts;
    into.push_back(std::move(step));
  }
}

std::vector<Step> Batch::finish() {
  if (body_.empty()) return {};
  const bool high_ohms = !isolated_.empty();
  const Volts volts = high_ohms ? board_.design.board.limits.voltage : Volts{0};
  std::vector<Step> all;
  controls(volts, all);
  if (high_ohms) {
    controls(Volts{0}, all);
    for (Channel c : isolated_) prove(c, all);
  }
  for (Step& s : body_) all.push_back(std::move(s));
  for (Channel c : isolated_) prove(c, all);
  controls(volts, all);
  auto id = static_cast<std::uint32_t>(plan_.steps.size());
  for (Step& s : all) s.id = StepId{++id};
  return all;
}

class Round {
 public:
  Round(const expect::Board& board, const plan::Plan& plan, std::span<const plan::Reading> readings,
        std::size_t placement)
      : board_(board),
        plan_(plan),
        evidence_(plan, readings),
        fragments_(board, plan, evidence_),
        placement_(placement),
        batch_(board, plan, evidence_, placement) {}

  std::vector<Step> steps() {
    missing_contacts();
    split_groups();
    apart_once();
    high_resistances();
    if (auto list = batch_.finish(); !list.empty()) return list;
    discarded_blocks();
    const Isolation isolation(board_, plan_, evidence_, fragments_, placement_);
    for (const Question& q : isolation.wanted()) batch_.isolation(q);
    if (auto list = batch_.finish(); !list.empty()) return list;
    bridges_by_current(isolation);
    return batch_.finish();
  }

 private:
  void missing_contacts() {
    for (const plan::Probe& p : plan_.placements[placement_].probes) {
      const bool again = evidence_.touch(placement_, p.channel) == Touch::missing ||
                         evidence_.contact_unread(placement_, p.channel);
      if (again && evidence_.contact_tries(placement_, p.channel) < 4) batch_.contact(p.channel);
    }
  }

  // One fragment after another against the rest, so that fragments that do conduct merge before
  // more is asked.
  void split_groups() {
    std::map<GroupId, std::vector<LocalFragment>> by_group;
    for (LocalFragment& f : fragments_.in_placement(placement_))
      by_group[f.group].push_back(std::move(f));
    for (const auto& [group, list] : by_group) {
      for (std::size_t i = 0; i < list.size(); ++i) {
        bool asked = false;
        for (std::size_t j = i + 1; j < list.size(); ++j)
          asked |= ask_apart(list[i], list[j], group);
        if (asked) break;
      }
    }
  }

  // Over-range once, and yet one piece by other readings: it is asked again, and again, before it is
  // doubt.
  void apart_once() {
    for (const auto& [pair, heard] : evidence_.heard(placement_)) {
      if (heard.highs != 1 || !heard.lows.empty()) continue;
      const auto& placement = plan_.placements[placement_];
      const plan::Probe &a = placement.probe(pair.first), &b = placement.probe(pair.second);
      const auto& group = board_.expectation.point(a.point).group;
      const bool split = group == board_.expectation.point(b.point).group &&
                         fragments_.fragment(a) != fragments_.fragment(b);
      if (!group || split) continue;  // split_groups asks
      batch_.continuity(pair.first, pair.second, *group, heard.predicted);
    }
  }

  bool ask_apart(const LocalFragment& a, const LocalFragment& b, GroupId group) {
    if (fragments_.apart(a.id, b.id)) return false;
    const auto& probes = plan_.placements[placement_].probes;
    Channel from = probes[a.probes[0]].channel, to = probes[b.probes[0]].channel;
    std::optional<copper::Predicted> predicted;
    for (std::size_t i : a.probes) {
      for (std::size_t j : b.probes) {
        const Heard h = evidence_.between(placement_, probes[i].channel, probes[j].channel);
        if (!h.asked()) continue;
        if (h.contradicts()) return false;
        from = probes[i].channel, to = probes[j].channel, predicted = h.predicted;
      }
    }
    const Heard h = evidence_.between(placement_, from, to);
    if (h.apart()) {  // no contact proven: ask for that instead
      for (Channel c : {from, to}) {
        if (evidence_.touch(placement_, c) != Touch::proven &&
            evidence_.contact_tries(placement_, c) < 4) {
          batch_.contact(c);
        }
      }
      return false;
    }
    batch_.continuity(from, to, group, predicted);
    return true;
  }

  void high_resistances() {
    const std::optional<FoilFit> foil = foil_of(board_, plan_, evidence_);
    for (const auto& [pair, heard] : evidence_.heard(placement_)) {
      if (!heard.conducts() || heard.lows.size() >= 2 || !exceeds(board_, plan_, heard, foil))
        continue;
      const auto& group =
          board_.expectation.point(plan_.placements[placement_].probe(pair.first).point).group;
      if (group) batch_.continuity(pair.first, pair.second, *group, heard.predicted);
    }
  }

  // An isolation reading has the switches and two contacts in it; a bridge deserves its own
  // resistance.
  void bridges_by_current(const Isolation& isolation) {
    if (plan_.wires != 4) return;
    for (const BadPair& bad : isolation.bad()) {
      if (bad.ohms < kByCurrent && !evidence_.by_current(placement_, bad.a, bad.b)) {
        batch_.resistance(bad.a, bad.b);
      }
    }
  }

  // A block whose controls read wrong, or that lost its conducting control to an open, is measured
  // again; so is a reading that could not be used (not settled, hum, a voltage).
  void discarded_blocks() {
    std::set<Question> again;
    for (const Step& s : plan_.steps) {
      if (s.placement != placement_ || s.kind != StepKind::isolation || s.wanted) continue;
      const bool redone = std::ranges::any_of(
          evidence_.isolations(placement_),
          [&](const IsolationReading& r) { return r.source == s.source && r.ret == s.ret; });
      if (!redone) again.insert({s.source, s.ret});
    }
    for (const Question& q : again) batch_.isolation(q);
  }

  const expect::Board& board_;
  const plan::Plan& plan_;
  Evidence evidence_;
  Fragments fragments_;
  std::size_t placement_;
  Batch batch_;
};

}  // namespace

std::vector<plan::Step> wanted_steps(const expect::Board& board, const plan::Plan& plan,
                                     std::span<const plan::Reading> readings,
                                     std::size_t placement) {
  return Round(board, plan, readings, placement).steps();
}

}  // namespace isthmus::diagnose
