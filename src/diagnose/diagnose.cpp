// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {
namespace {

// Says for every required point whether it is tested, and if not, why.
class Completeness {
 public:
  Completeness(const Study& s, const std::vector<Finding>& findings) : s_(s) {
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
    isolation();
  }

  void fill(Diagnosis& d) {
    const auto& points = s_.board.expectation.points;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const expect::Point& point = points[i];
      if (!point.required) continue;
      ++d.coverage.required;
      if (point.waived) {
        ++d.coverage.waived;
        continue;
      }
      const std::string why = why_untested(PointId{static_cast<std::uint32_t>(i)});
      if (why.empty())
        ++d.coverage.tested;
      else
        add(d.untested, point.net, {point.id}, why, "");
    }
    for (const auto& [pair, detail] : unproven_pairs_) {
      const auto& a = s_.board.expectation.group(pair.first);
      const auto& b = s_.board.expectation.group(pair.second);
      add(d.untested, a.net, {name_of(a), name_of(b)}, pair_why_.at(pair), detail);
    }
    for (const expect::Blocker& b : s_.board.expectation.blockers) {
      add(d.untested, b.net, b.points, b.why, "");
    }
  }

 private:
  std::string name_of(const expect::Group& g) const {
    return s_.board.expectation.point(g.points[0]).id;
  }

  static void add(std::vector<Untested>& list, const std::string& net,
                  std::vector<std::string> points, const std::string& why,
                  const std::string& detail) {
    for (Untested& u : list) {
      if (u.net == net && u.why == why && u.detail == detail) {
        for (std::string& p : points) {
          if (std::ranges::find(u.points, p) == u.points.end()) u.points.push_back(std::move(p));
        }
        return;
      }
    }
    list.push_back({net, std::move(points), why, detail});
  }

  bool matters(const expect::Group& g) const {
    return std::ranges::any_of(g.points, [&](PointId p) {
      const expect::Point& point = s_.board.expectation.point(p);
      return point.required && !point.waived;
    });
  }

  // Every pair of groups that must be isolated, every fragment of one against every fragment of the
  // other.
  void isolation() {
    for (const expect::Pair& pair : s_.board.expectation.pairs) {
      if (!matters(s_.board.expectation.group(pair.a)) &&
          !matters(s_.board.expectation.group(pair.b)))
        continue;
      if (untouched(pair.a) || untouched(pair.b)) continue;
      std::set<std::pair<FragmentId, FragmentId>> proven, met, doubtful;
      for (std::size_t p = 0; p < s_.plan.placements.size(); ++p)
        look(p, pair, proven, met, doubtful);
      if (!doubtful.empty())
        unproven(pair, "doubtful", "isolation readings contradict each other");
      else if (met.empty())
        unproven(pair, "not-reached", "never probed together");
      else if (!std::ranges::includes(proven, met))
        unproven(pair, "contact-unproven", "no trusted isolation reading");
    }
  }

  // No point of a group that matters was touched: its points say so themselves, its neighbours need
  // not.
  [[nodiscard]] bool untouched(GroupId g) const {
    const expect::Group& group = s_.board.expectation.group(g);
    return matters(group) &&
           std::ranges::none_of(group.points, [&](PointId p) { return s_.fragments.measured(p); });
  }

  void unproven(const expect::Pair& pair, const std::string& why, const std::string& detail) {
    unproven_pairs_[{pair.a, pair.b}] = detail;
    pair_why_[{pair.a, pair.b}] = why;
  }

  void look(std::size_t placement, const expect::Pair& pair,
            std::set<std::pair<FragmentId, FragmentId>>& proven,
            std::set<std::pair<FragmentId, FragmentId>>& met,
            std::set<std::pair<FragmentId, FragmentId>>& doubtful) const {
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

  // A via that nothing needs may lie under a probe that no reading ties to the rest.
  bool one_piece(GroupId group) const {
    const auto fragments = s_.fragments.of_group(group);
    return 1 >= std::ranges::count_if(fragments, [&](const Fragment& fragment) {
             return std::ranges::any_of(fragment.points, [&](PointId p) {
               const expect::Point& point = s_.board.expectation.point(p);
               return point.required && !point.waived;
             });
           });
  }

  std::string why_untested(PointId id) const {
    const expect::Point& point = s_.board.expectation.point(id);
    if (in_finding_.contains(point.id)) return "";
    if (!point.group) return "no-copper";
    const auto at = places_.find(id);
    if (at == places_.end()) return "not-reached";
    const auto any = [&](auto&& condition) { return std::ranges::any_of(at->second, condition); };
    if (!any([&](const auto& x) { return s_.evidence.reached(x.first); })) return "not-reached";
    if (s_.fragments.in_doubt(id)) return "doubtful";
    if (!s_.fragments.measured(id)) {
      return any([&](const auto& x) {
        return s_.evidence.touch(x.first, x.second) == Touch::missing;
      })
                 ? "no-contact"
                 : "contact-unproven";
    }
    if (!open_nets_.contains(point.net) && !one_piece(*point.group)) return "not-tied";
    for (const auto& [pair, detail] : unproven_pairs_) {
      if (pair.first == *point.group || pair.second == *point.group) return pair_why_.at(pair);
    }
    return "";
  }

  const Study& s_;
  std::set<std::string> in_finding_, open_nets_;
  std::map<PointId, std::vector<std::pair<std::size_t, Channel>>> places_;
  std::map<std::pair<GroupId, GroupId>, std::string> unproven_pairs_, pair_why_;
};

void remarks(const Study& s, bool complete, Diagnosis& d) {
  if (s.board.expectation.basis == "artwork") {
    d.remarks.push_back("matches its artwork at best; the design was not checked");
  }
  if (!complete) d.remarks.push_back("the run did not reach its end");
  if (!s.evidence.bad_blocks().empty()) {
    d.remarks.push_back(
        fmt::format("{} block(s) of readings were thrown away because their controls read wrong or "
                    "were missing",
                    s.evidence.bad_blocks().size()));
  }
  for (const plan::Placement& p : s.plan.placements) {
    for (const std::string& laying : p.cannot_tell) {
      d.remarks.push_back(
          fmt::format("placement {}: the readings would look the same {}: check the laying by eye",
                      p.name, laying));
    }
  }
  if (s.plan.wires == 2)
    d.remarks.push_back(
        "two-wire adapter: too much resistance below the continuity limit cannot be seen");
}

}  // namespace

std::string_view name(FindingKind k) {
  switch (k) {
    case FindingKind::open:
      return "open";
    case FindingKind::bridge:
      return "bridge";
    case FindingKind::high_resistance:
      return "high-resistance";
    case FindingKind::leakage:
      return "leakage";
  }
  return "";
}

std::string_view name(Verdict v) {
  switch (v) {
    case Verdict::pass:
      return "pass";
    case Verdict::fail:
      return "fail";
    case Verdict::incomplete:
      return "incomplete";
  }
  return "";
}

bool Finding::operator==(const Finding& o) const {
  return kind == o.kind && nets == o.nets && parts == o.parts;
}

Diagnosis diagnose(const expect::Board& board, const plan::Plan& plan,
                   std::span<const plan::Reading> readings, bool complete) {
  const Study study(board, plan, readings);
  Diagnosis d;
  for (auto list : {open_findings(study), isolation_findings(study), resistance_findings(study)}) {
    for (Finding& f : list) d.findings.push_back(std::move(f));
  }
  std::ranges::stable_sort(d.findings, [](const Finding& a, const Finding& b) {
    return std::tie(a.kind, a.nets, a.parts) < std::tie(b.kind, b.nets, b.parts);
  });
  Completeness(study, d.findings).fill(d);
  remarks(study, complete, d);
  const bool whole = complete && d.untested.empty() &&
                     d.coverage.tested + d.coverage.waived == d.coverage.required;
  d.verdict = !d.findings.empty() ? Verdict::fail : whole ? Verdict::pass : Verdict::incomplete;
  return d;
}

}  // namespace isthmus::diagnose
