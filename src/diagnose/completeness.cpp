// SPDX-License-Identifier: Apache-2.0
#include "diagnose/completeness.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "diagnose/poor_contacts.hpp"
#include "diagnose/wires.hpp"

namespace isthmus::diagnose {
namespace {

struct Reason {
  std::string why, detail;
  [[nodiscard]] bool none() const { return why.empty(); }
};

const Reason kBrokenOff{"broken-off", "the run did not get there"};

void add(std::vector<Untested>& list, const std::string& net, std::vector<std::string> points,
         const Reason& reason) {
  for (Untested& u : list) {
    if (u.net != net || u.why != reason.why || u.detail != reason.detail) continue;
    for (std::string& p : points) {
      if (std::ranges::find(u.points, p) == u.points.end()) u.points.push_back(std::move(p));
    }
    return;
  }
  list.push_back({net, std::move(points), reason.why, reason.detail});
}

// Placements whose readings were set aside, and why.
class SetAside {
 public:
  SetAside(const Study& s, const std::vector<Suspicion>& suspicions) : s_(s) {
    for (const Suspicion& one : suspicions) words_[one.placement] = one.words;
  }
  // Empty where no such placement touches the point, or both groups of the pair.
  [[nodiscard]] std::string of(PointId id) const {
    for (const auto& [placement, words] : words_) {
      if (touches(placement, [&](const plan::Probe& p) { return p.point == id; })) return words;
    }
    return "";
  }
  [[nodiscard]] std::string of(GroupId a, GroupId b) const {
    const auto group = [this](const plan::Probe& p) {
      return s_.board.expectation.point(p.point).group;
    };
    for (const auto& [placement, words] : words_) {
      if (touches(placement, [&](const plan::Probe& p) { return group(p) == a; }) &&
          touches(placement, [&](const plan::Probe& p) { return group(p) == b; }))
        return words;
    }
    return "";
  }

 private:
  template <class Condition>
  [[nodiscard]] bool touches(std::size_t placement, Condition condition) const {
    return std::ranges::any_of(s_.plan.placements[placement].probes, condition);
  }
  const Study& s_;
  std::map<std::size_t, std::string> words_;
};

// Which pairs of groups were proven to be isolated (or found not to be), and why the others not.
class Pairs {
 public:
  Pairs(const Study& s, const SetAside& aside, const Diagnosis& d, bool complete)
      : s_(s), complete_(complete) {
    for (const auto& [key, open] : pairs_of_list(d)) {
      const auto& [a, b] = key;
      expected_.insert(key);
      ++required_;
      const std::string why = aside.of(a, b);
      if (!open) {
        ++tested_;
        continue;
      }
      if (why.empty() && (untouched(a) || untouched(b))) continue;
      Reason reason = judge(a, b);
      if (!reason.none() && reason.why != "doubtful" && !why.empty()) reason = {"doubtful", why};
      // Read, and open all the same: a finding beside it, or a chain; the list says so.
      if (reason.none())
        ++tested_;
      else
        unproven_[key] = reason;
    }
  }

  using Key = std::pair<GroupId, GroupId>;
  [[nodiscard]] std::size_t required() const { return required_; }
  [[nodiscard]] std::size_t tested() const { return tested_; }
  [[nodiscard]] const std::map<Key, Reason>& unproven() const { return unproven_; }
  [[nodiscard]] const std::set<Key>& expected() const { return expected_; }

  // What a group's points lack: every partner it was not proven to be isolated from, by reason.
  [[nodiscard]] Reason of_group(GroupId g) const {
    Reason all;
    std::vector<std::pair<std::string, std::string>> by_reason;  // detail, partners
    for (const auto& [key, reason] : unproven_) {
      if (key.first != g && key.second != g) continue;
      if (all.none()) all.why = reason.why;
      const std::string partner = label(key.first == g ? key.second : key.first);
      const auto at =
          std::ranges::find(by_reason, reason.detail, &std::pair<std::string, std::string>::first);
      if (at == by_reason.end())
        by_reason.emplace_back(reason.detail, partner);
      else
        at->second += ", " + partner;
    }
    for (const auto& [detail, partners] : by_reason) {
      all.detail += fmt::format("{}isolation from {} is not proven: {}",
                                all.detail.empty() ? "" : "; ", partners, detail);
    }
    return all;
  }
  [[nodiscard]] std::string label(GroupId g) const {
    return fmt::format("{} ({})", s_.board.expectation.group(g).net, first_point(g));
  }
  [[nodiscard]] std::string first_point(GroupId g) const {
    return s_.board.expectation.point(s_.board.expectation.group(g).points[0]).id;
  }

 private:
  using Fragments2 = std::set<std::pair<FragmentId, FragmentId>>;

  // Pairs of groups that face each other, and whether some facing between them is still open.
  // What waivers alone leave is not asked for.
  [[nodiscard]] std::map<Key, bool> pairs_of_list(const Diagnosis& d) const {
    std::map<Key, bool> pairs;
    for (std::size_t e = 0; e < d.states.size(); ++e) {
      const expect::PossibleFault& f = s_.board.faults.entries[e];
      if (f.kind != expect::FaultKind::bridge || d.states[e] == expect::FaultState::waived)
        continue;
      for (const GroupId a : s_.board.faults.groups_of_piece[f.piece]) {
        for (const GroupId b : s_.board.faults.groups_of_piece[f.other]) {
          if (!matters(a) && !matters(b)) continue;
          bool& open = pairs[std::minmax(a, b)];
          open = open || d.states[e] == expect::FaultState::cannot_tell;
        }
      }
    }
    return pairs;
  }

  [[nodiscard]] bool matters(GroupId g) const { return expect::matters(s_.board, g); }
  // No point of a group that matters was touched: its points say so themselves, its neighbours need
  // not.
  [[nodiscard]] bool untouched(GroupId g) const {
    return matters(g) && std::ranges::none_of(s_.board.expectation.group(g).points,
                                              [&](PointId p) { return s_.fragments.measured(p); });
  }

  // Every fragment of one against every fragment of the other: why it is not proven to be isolated.
  [[nodiscard]] Reason judge(GroupId a, GroupId b) const {
    const expect::Pair pair{
        .a = a, .b = b, .distance_nm = 0, .gaps = {}, .through = {}, .weight = 0};
    Fragments2 proven, met, doubtful;
    for (std::size_t p = 0; p < s_.plan.placements.size(); ++p)
      look(p, pair, proven, met, doubtful);
    if (!doubtful.empty()) {
      return {"doubtful", distrusted(pair) ? "the controls around its readings read wrong"
                                           : "isolation readings contradict each other"};
    }
    if (!met.empty() && std::ranges::includes(proven, met)) return {};
    if (!planned(pair)) return {"not-reached", "no placement probes them together"};
    if (!complete_) return kBrokenOff;
    return {"contact-unproven", why_unproven(pair)};
  }

  void look(std::size_t placement, const expect::Pair& pair, Fragments2& proven, Fragments2& met,
            Fragments2& doubtful) const {
    const auto local = s_.fragments.in_placement(placement);
    const auto& probes = s_.plan.placements[placement].probes;
    const Isolation& iso = s_.isolation[placement];
    for (const LocalFragment& a : local) {
      if (a.group != pair.a) continue;
      for (const LocalFragment& b : local) {
        if (b.group != pair.b) continue;
        met.insert({a.id, b.id});
        for (std::size_t i : a.probes) {
          for (std::size_t j : b.probes) {
            const auto key = std::minmax(probes[i].channel, probes[j].channel);
            if (iso.doubtful().contains(key)) doubtful.insert({a.id, b.id});
            const bool bad = std::ranges::any_of(
                iso.bad(), [&](const BadPair& x) { return x.a == key.first && x.b == key.second; });
            if (bad || iso.isolated(probes[i].channel, probes[j].channel))
              proven.insert({a.id, b.id});
          }
        }
      }
    }
  }

  [[nodiscard]] bool has_probe(std::size_t placement, GroupId g) const {
    return std::ranges::any_of(s_.plan.placements[placement].probes, [&](const plan::Probe& p) {
      return s_.board.expectation.point(p.point).group == g;
    });
  }
  [[nodiscard]] bool together(std::size_t placement, const expect::Pair& pair) const {
    return has_probe(placement, pair.a) && has_probe(placement, pair.b);
  }
  [[nodiscard]] bool planned(const expect::Pair& pair) const {
    for (std::size_t p = 0; p < s_.plan.placements.size(); ++p) {
      if (together(p, pair)) return true;
    }
    return false;
  }
  [[nodiscard]] bool distrusted(const expect::Pair& pair) const {
    for (std::size_t p = 0; p < s_.plan.placements.size(); ++p) {
      if (together(p, pair) && s_.evidence.isolation_distrusted(p)) return true;
    }
    return false;
  }

  // The tips of both groups that found no metal where they lay together; else what else went wrong.
  [[nodiscard]] std::string why_unproven(const expect::Pair& pair) const {
    std::set<std::string> lifted;
    for (std::size_t p = 0; p < s_.plan.placements.size(); ++p) {
      if (!together(p, pair)) continue;
      for (const plan::Probe& probe : s_.plan.placements[p].probes) {
        const expect::Point& point = s_.board.expectation.point(probe.point);
        const bool ours = point.group == pair.a || point.group == pair.b;
        if (ours && s_.evidence.touch(p, probe.channel) == Touch::missing) lifted.insert(point.id);
      }
    }
    if (!lifted.empty()) {
      std::string list;
      for (const std::string& id : lifted) list += (list.empty() ? "" : " ") + id;
      return "no contact at " + list;
    }
    if (!s_.evidence.bad_blocks().empty())
      return "readings were thrown away because their controls read wrong or were missing";
    return "no reading with contact proven both before and after it";
  }

  const Study& s_;
  bool complete_;
  std::size_t required_{}, tested_{};
  std::map<Key, Reason> unproven_;
  std::set<Key> expected_;
};

// Says for every required point whether it is tested, and if not, why.
class Points {
 public:
  Points(const Study& s, const std::vector<Finding>& findings, const std::vector<PoorContact>& poor,
         bool complete)
      : s_(s), complete_(complete) {
    for (const Finding& f : findings) {
      for (const auto& part : f.parts) in_finding_.insert(part.begin(), part.end());
      for (const std::string& net : f.nets) {
        if (f.kind == FindingKind::open) open_nets_.insert(net);
      }
    }
    for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
      for (const plan::Probe& probe : s.plan.placements[p].probes)
        places_[probe.point].push_back({p, probe.channel});
    }
    for (const PoorContact& c : poor) {
      const auto& group = s.board.expectation.point(c.a).group;
      if (group) poor_.try_emplace(*group, c.words);
    }
  }

  [[nodiscard]] Reason why_untested(PointId id) const {
    const expect::Point& point = s_.board.expectation.point(id);
    if (in_finding(id)) return {};
    if (!point.group) return {"no-copper", ""};
    if (!places_.contains(id)) return {"not-reached", ""};
    if (!any(id, [&](const Place& x) { return s_.evidence.reached(x.first); }))
      return complete_ ? Reason{"not-reached", "its placement was not measured"} : kBrokenOff;
    if (s_.fragments.in_doubt(id)) return {"doubtful", ""};
    if (!s_.fragments.measured(id)) return why_no_contact(id);
    if (!open_nets_.contains(point.net) && !one_piece(*point.group)) {
      const auto poor = poor_.find(*point.group);
      if (poor != poor_.end()) return {"poor-contact", poor->second};
      return complete_ ? Reason{"not-tied", ""} : kBrokenOff;
    }
    return {};
  }
  [[nodiscard]] bool in_finding(PointId id) const {
    return in_finding_.contains(s_.board.expectation.point(id).id);
  }

 private:
  using Place = std::pair<std::size_t, Channel>;

  template <class Condition>
  [[nodiscard]] bool any(PointId id, Condition condition) const {
    return std::ranges::any_of(places_.at(id), condition);
  }

  [[nodiscard]] Reason why_no_contact(PointId id) const {
    if (any(id, [&](const Place& x) {
          return s_.evidence.touch(x.first, x.second) == Touch::missing;
        })) {
      return {"no-contact", ""};
    }
    if (any(id, [&](const Place& x) { return s_.evidence.by_check_alone(x.first, x.second); })) {
      return {"contact-unproven",
              "the adapter's contact check was never seen to say no in its placement: let the tips "
              "hang in the air first, or leave a channel free"};
    }
    if (any(id, [&](const Place& x) { return s_.evidence.contact_tries(x.first, x.second) > 0; }))
      return {"contact-unproven", "its contact came and went, or could not be read"};
    if (!complete_) return kBrokenOff;
    if (!s_.evidence.bad_blocks().empty()) {
      return {"contact-unproven",
              "readings were thrown away because their controls read wrong or were missing"};
    }
    return {"contact-unproven",
            "nothing proved that the tip touches: a twin tip or a contact check would"};
  }

  // A via that nothing needs may lie under a probe that no reading ties to the rest.
  [[nodiscard]] bool one_piece(GroupId group) const {
    const auto fragments = s_.fragments.of_group(group);
    return 1 >= std::ranges::count_if(fragments, [&](const Fragment& fragment) {
             return std::ranges::any_of(fragment.points, [&](PointId p) {
               const expect::Point& point = s_.board.expectation.point(p);
               return point.required && !point.waived;
             });
           });
  }

  const Study& s_;
  bool complete_;
  std::set<std::string> in_finding_, open_nets_;
  std::map<PointId, std::vector<Place>> places_;
  std::map<GroupId, std::string> poor_;  // of what reads too much between two of its tips
};

// Too much resistance is a finding only when it was measured twice. Heard once, it is doubt: the
// repeat gave no reading, or only what was measured later shows what this board's copper is like.
void add_unrepeated(const Study& s, Diagnosis& d) {
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    std::map<Channel, PointId> under;
    for (const plan::Probe& probe : s.plan.placements[p].probes) under[probe.channel] = probe.point;
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (!under.contains(pair.first) || !under.contains(pair.second)) continue;
      const bool by_hand = s.plan.placements[p].round.has_value();
      if (!heard.conducts() || (!by_hand && heard.lows.size() > 1)) continue;
      if (excess_of(s.board, s.plan, heard, s.fitted) != Excess::copper) continue;
      if (by_hand && (cleared_by_hand(s, p, pair) || high_by_hand(s, p, pair))) continue;
      const expect::Point& point = s.board.expectation.point(under[pair.first]);
      const bool found = std::ranges::any_of(d.findings, [&](const Finding& f) {
        return f.kind == FindingKind::high_resistance && f.nets.front() == point.net;
      });
      if (found) continue;
      add(d.untested, point.net, names_of(s.board, {under[pair.first], under[pair.second]}),
          {"doubtful", "more resistance than its copper should have, measured once"});
    }
  }
}

// Pairs that no point's row names, and doubt between groups that need not be isolated by
// themselves: a reading of many found them, and nothing cleared them since.
void add_pairs(const Study& s, const Pairs& pairs, const std::set<GroupId>& said, Diagnosis& d) {
  const auto& e = s.board.expectation;
  for (const auto& [key, reason] : pairs.unproven()) {
    if (said.contains(key.first) || said.contains(key.second)) continue;
    add(d.untested, e.group(key.first).net, {pairs.first_point(key.first)},
        {reason.why, fmt::format("isolation from {} is not proven: {}", pairs.label(key.second),
                                 reason.detail)});
  }
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    std::map<Channel, GroupId> under;
    for (const plan::Probe& probe : s.plan.placements[p].probes) {
      if (const auto& g = e.point(probe.point).group) under[probe.channel] = *g;
    }
    for (const auto& [a, b] : s.isolation[p].doubtful()) {
      if (!under.contains(a) || !under.contains(b) || under[a] == under[b]) continue;
      const auto [low, high] = std::minmax(under[a], under[b]);
      if (pairs.expected().contains({low, high}) || expect::may_conduct(s.board, low, high))
        continue;
      add(d.untested, e.group(low).net, {pairs.first_point(low)},
          {"doubtful", fmt::format("isolation from {} is in doubt", pairs.label(high))});
    }
  }
}

void add_poor_contacts(const Study& s, const std::vector<PoorContact>& poor, Diagnosis& d) {
  for (const PoorContact& c : poor) {
    const expect::Point& point = s.board.expectation.point(c.a);
    add(d.untested, point.net, names_of(s.board, {c.a, c.b}), {"poor-contact", c.words});
  }
}

// Without a foil to go by little is known of long copper's resistance.
void add_not_judged(const Study& s, Diagnosis& d) {
  if (!s.fitted.foil.thinnest || (s.plan.wires != 4 && !s.plan.zeroed)) return;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (!heard.conducts() || judged(s.board, heard, s.fitted)) continue;
      const PointId a = s.plan.placements[p].probe(pair.first).point;
      const PointId b = s.plan.placements[p].probe(pair.second).point;
      add(d.untested, s.board.expectation.point(a).net, names_of(s.board, {a, b}),
          {"doubtful", std::string(kNotJudged) + ": check copper: thickness"});
    }
  }
}

// Whatever else was read: no run passes with wires that touch.
void add_wires(const Study& s, Diagnosis& d) {
  for (const plan::Placement& p : s.plan.placements) {
    for (const ChannelPair& wires : touching_in(p, s.harness)) {
      for (const Channel c : {wires.first, wires.second}) {
        const expect::Point& point = s.board.expectation.point(probe_on(p, c)->point);
        add(d.untested, point.net, {point.id},
            {"wiring",
             in_words(wires) + " with no board under the tips: part them, and test again"});
      }
    }
  }
}

}  // namespace

void say_what_is_tested(const Study& s, const std::vector<Suspicion>& suspicions, bool complete,
                        Diagnosis& d) {
  const expect::Expectation& e = s.board.expectation;
  const SetAside aside(s, suspicions);
  const Pairs pairs(s, aside, d, complete);
  const std::vector<PoorContact> poor = poor_contacts(s, d.findings);
  const Points points(s, d.findings, poor, complete);
  std::set<GroupId> said;
  for (std::size_t i = 0; i < e.points.size(); ++i) {
    const expect::Point& point = e.points[i];
    if (!point.required) continue;
    ++d.coverage.required;
    if (point.waived) {
      ++d.coverage.waived;
      continue;
    }
    const PointId id{static_cast<std::uint32_t>(i)};
    Reason reason = points.why_untested(id);
    if (reason.none() && !points.in_finding(id)) {
      reason = pairs.of_group(*point.group);
      if (!reason.none()) said.insert(*point.group);
    }
    if (reason.none()) {
      ++d.coverage.tested;
      continue;
    }
    if (const std::string why = aside.of(id); !why.empty()) reason = {"doubtful", why};
    add(d.untested, point.net, {point.id}, reason);
  }
  add_pairs(s, pairs, said, d);
  add_unrepeated(s, d);
  add_poor_contacts(s, poor, d);
  add_not_judged(s, d);
  add_wires(s, d);
  for (const expect::Blocker& b : e.blockers) add(d.untested, b.net, b.points, {b.why, ""});
  d.coverage.pairs_required = pairs.required();
  d.coverage.pairs_tested = pairs.tested();
  d.coverage.pairs_beyond_window = e.pairs_beyond_window;
  d.waived = e.waivers;
}

}  // namespace isthmus::diagnose
