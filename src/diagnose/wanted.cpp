// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "diagnose/excess.hpp"
#include "diagnose/isolation.hpp"
#include "isthmus/plan/step_maker.hpp"

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
      : board_(board),
        plan_(plan),
        evidence_(evidence),
        placement_(plan.placements[placement]),
        index_(placement),
        make_(board.design.board.limits, plan.contact_check, placement) {
    std::size_t last = 0;
    for (const Step& s : plan.steps) last = std::max(last, s.block);
    make_.block(last + 1);
  }

  void contact(Channel c);
  void continuity(Channel a, Channel b, GroupId group, std::optional<copper::Predicted> predicted);
  void isolation(const Question& q);
  void resistance(Channel a, Channel b) { add(make_.resistance(a, b)); }
  std::vector<Step> finish();

 private:
  void add(Step step);
  void prove(Channel c, std::vector<Step>& into) const;
  void controls(Volts volts, std::vector<Step>& into) const;

  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  const plan::Placement& placement_;
  std::size_t index_;  // of the placement
  plan::StepMaker make_;
  std::vector<Step> body_;
  std::set<Channel> isolated_;
};

void Batch::add(Step step) {
  if (evidence_.times_asked(step) < kMostAsked) body_.push_back(std::move(step));
}

// A tip is proven as the plan does it: by the adapter's check, by its twin, or by conducting to a
// fellow.
void Batch::prove(Channel c, std::vector<Step>& into) const {
  const plan::Probe& p = placement_.probe(c);
  const auto push = [&](Step step) {
    step.closing = true;
    into.push_back(std::move(step));
  };
  auto by_row1 = make_.contact(p, true), by_row2 = make_.contact(p, false);
  if (by_row1 && by_row2) {
    push(std::move(*by_row1));
    push(std::move(*by_row2));
    return;
  }
  for (const auto& [pair, heard] : evidence_.heard(index_)) {
    if (!heard.conducts() || (pair.first != c && pair.second != c)) continue;
    const plan::Probe& fellow = placement_.probe(pair.first == c ? pair.second : pair.first);
    push(make_.continuity(p, fellow, {}, heard.predicted));
    push(make_.continuity(fellow, p, {}, heard.predicted));
    return;
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
  add(make_.continuity(placement_.probe(a), placement_.probe(b), {group}, predicted));
}

void Batch::isolation(const Question& q) {
  std::vector<GroupId> groups;
  for (const Channels* side : {&q.source, &q.ret}) {
    for (Channel c : *side) {
      if (const auto& g = board_.expectation.point(placement_.probe(c).point).group)
        groups.push_back(*g);
    }
  }
  Step step = make_.isolation(q.source, q.ret, std::move(groups));
  if (evidence_.times_asked(step) >= kMostAsked) return;
  // What the switches leak by themselves, with the same channels closed.
  if (q.source.size() + q.ret.size() <= 2) {
    body_.push_back(make_.open_on_row_1(q.source, step.volts));
    body_.push_back(make_.open_on_row_2(q.ret, step.volts));
  }
  isolated_.insert(q.source.begin(), q.source.end());
  isolated_.insert(q.ret.begin(), q.ret.end());
  body_.push_back(std::move(step));
}

void Batch::controls(Volts volts, std::vector<Step>& into) const {
  Channels all;
  for (const plan::Probe& p : placement_.probes) all.push_back(p.channel);
  into.push_back(make_.open_on_row_1(all, volts));
  into.push_back(make_.open_on_row_2(all, volts));
  for (const auto& [pair, heard] : evidence_.heard(index_)) {
    if (heard.conducts())
      return into.push_back(make_.control_short(pair.first, pair.second, volts));
  }
  for (const plan::Probe& p : placement_.probes) {
    if (p.twin && evidence_.touch(index_, p.channel) == Touch::proven)
      return into.push_back(make_.control_short(p.channel, *p.twin, volts));
  }
  std::set<int> done;
  for (const Step& s : plan_.steps) {
    if (s.kind == StepKind::reference && done.insert(s.reference).second)
      into.push_back(make_.reference(s.reference, s.limit, volts));
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
  for (Step& s : all) {
    s.id = StepId{++id};
    s.wanted = true;
  }
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
