// SPDX-License-Identifier: Apache-2.0
#include "diagnose/wanted.hpp"

#include <algorithm>

#include "diagnose/bridging_wires.hpp"
#include "diagnose/excess.hpp"

namespace isthmus::diagnose {
namespace {

using plan::Step;
using plan::StepKind;

constexpr double kByCurrent = 1000;  // ohms; above it the source cannot drive its current

// What is still in doubt in one placement, the most basic first.
class Round {
 public:
  Round(const SoFar& so_far, std::size_t placement)
      : board_(so_far.board),
        plan_(so_far.plan),
        evidence_(so_far.evidence),
        asked_(so_far.asked),
        fragments_(board_, plan_, evidence_, TouchedNodes(board_, plan_, evidence_)),
        placement_(placement),
        batch_(so_far, placement) {}

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
    for (const Question& q : isolation.unheard()) batch_.isolation_by_current(q);
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

  // What reads too much is read again, and by other tips: contact resistance only adds, so that
  // they tell copper from contact.
  void high_resistances() {
    const Fitted fitted = diagnose::fitted(board_, plan_, evidence_);
    const auto high = [&](const Heard& h) {
      return h.dull_only() || excess_of(board_, plan_, h, fitted) != Excess::none;
    };
    for (const auto& [pair, heard] : evidence_.heard(placement_)) {
      if (!high(heard)) continue;
      const plan::Placement& placement = plan_.placements[placement_];
      const plan::Probe &a = placement.probe(pair.first), &b = placement.probe(pair.second);
      const auto& group = board_.expectation.point(a.point).group;
      if (!group) continue;
      if (heard.conducts() && heard.lows.size() < 2)
        batch_.continuity(pair.first, pair.second, *group, heard.predicted);
      if (heard.bare && !heard.bare->at_least) continue;
      if (a.twin && b.twin) {
        batch_.contact(a.channel), batch_.contact(b.channel);  // as they are now
        batch_.continuity(*a.twin, *b.twin, *group, heard.predicted);
      } else {
        ask_across(pair, *group, high);
      }
    }
  }

  // From one far end of a hub to the next: copper that both share shows.
  template <class High>
  void ask_across(const std::pair<Channel, Channel>& pair, GroupId group, const High& high) {
    for (const auto& [hub, far] : {pair, std::pair{pair.second, pair.first}}) {
      for (const auto& [other, heard] : evidence_.heard(placement_)) {
        if (other <= pair || (other.first != hub && other.second != hub) || !high(heard)) continue;
        const Channel end = other.first == hub ? other.second : other.first;
        if (end == far || evidence_.between(placement_, far, end).asked()) continue;
        batch_.continuity(far, end, group, std::nullopt);
        break;
      }
    }
  }

  // An isolation reading has the switches and two contacts in it; a bridge deserves its own
  // resistance, and to be told from wires that touch.
  void bridges_by_current(const Isolation& isolation) {
    if (plan_.wires != 4) return;
    for (const BadPair& bad : isolation.bad()) {
      if (bad.ohms < kByCurrent && !evidence_.by_current(placement_, bad.a, bad.b)) {
        batch_.resistance(bad.a, bad.b);
      }
      if (isolation.bad().size() > kMostBridges) continue;
      for (const auto& [a, b] : bridging_wires(board_, plan_, evidence_, placement_, bad).ask)
        batch_.resistance(a, b);
    }
  }

  // A block whose controls read wrong, or that lost its conducting control to an open, is measured
  // again; so is a reading that could not be used (not settled, hum, a voltage).
  void discarded_blocks() {
    std::set<Question> again;
    for (const std::size_t i : asked_.in_placement(placement_)) {
      const Step& s = plan_.steps[i];
      if (s.kind != StepKind::isolation || s.wanted) continue;
      const bool told =
          std::ranges::any_of(evidence_.isolations(placement_), [&](const IsolationReading& r) {
            return r.source == s.source && r.ret == s.ret && guarded(r);
          });
      if (!told) again.insert({s.source, s.ret});
    }
    for (const Question& q : again) batch_.isolation(q);
  }

  // Every tip that touches was proven before and after, and every switch with as many others
  // closed.
  [[nodiscard]] bool guarded(const IsolationReading& r) const {
    const std::size_t closed = r.source.size() + r.ret.size();
    const plan::Placement& placement = plan_.placements[placement_];
    const auto all = [&](int row, const std::vector<Channel>& channels) {
      return std::ranges::all_of(channels, [&](Channel c) {
        // A clip is proven by other landings of its round.
        if (placement.round && placement.probe(c).clip) return true;
        return evidence_.touch(placement_, c) != Touch::proven ||
               (evidence_.proven_around(placement_, row, c, r.sequence) &&
                evidence_.holds_under_load(placement_, row, c, closed));
      });
    };
    return all(1, r.source) && all(2, r.ret);
  }

  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  const Asked& asked_;
  Fragments fragments_;
  std::size_t placement_;
  Batch batch_;
};

}  // namespace

std::vector<plan::Step> wanted_steps(const SoFar& so_far, std::size_t placement) {
  return Round(so_far, placement).steps();
}

}  // namespace isthmus::diagnose
