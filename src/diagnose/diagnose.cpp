// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "diagnose/bench_remarks.hpp"
#include "diagnose/completeness.hpp"
#include "diagnose/facts.hpp"
#include "diagnose/laid_wrongly.hpp"
#include "diagnose/landed_by_eye.hpp"
#include "diagnose/wires.hpp"

namespace isthmus::diagnose {
namespace {

// Channels of one net whose wires or tips could touch unseen.
void not_in_air(const Study& s, Diagnosis& d) {
  std::vector<std::string> names;
  bool twins = false;
  for (std::size_t i = 0; i < s.plan.placements.size(); ++i) {
    const plan::Placement& p = s.plan.placements[i];
    if (p.tried_in_air || !s.evidence.reached(i)) continue;
    if (p.round && i > 0 && s.plan.placements[i - 1].round == p.round) continue;  // said once
    std::set<GroupId> seen;
    bool two_of_one = false;
    for (const plan::Probe& probe : p.probes) {
      const auto& group = s.board.expectation.point(probe.point).group;
      two_of_one = two_of_one || (group && !seen.insert(*group).second);
      twins = twins || probe.twin;
    }
    if (two_of_one || twins) names.push_back(p.name);
  }
  if (names.empty()) return;
  d.remarks.push_back(fmt::format(
      "placement{} {}: wires and tips were not tried in the air; two of one net that touch each "
      "other would hide an open between their pads{}",
      names.size() == 1 ? "" : "s", fmt::join(names, ", "),
      twins ? ", and a twin tip proves no contact" : ""));
}

// What such a check says proves no contact.
void check_never_said_no(const Study& s, Diagnosis& d) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < s.plan.placements.size(); ++i) {
    if (s.evidence.check_proves_nothing(i)) names.push_back(s.plan.placements[i].name);
  }
  if (names.empty()) return;
  d.remarks.push_back(fmt::format(
      "placement{} {}: the adapter's contact check was never seen to say no, and proves nothing: "
      "every channel has a tip, and the tips were not tried in the air",
      names.size() == 1 ? "" : "s", fmt::join(names, ", ")));
}

// What a needle heard and then no more, and what was taken back.
void by_hand(const Study& s, Diagnosis& d) {
  for (const HeardByHand& h : s.landings.gone()) {
    if (h.ohms <= 0 || h.ohms >= s.board.design.board.limits.bridge.value) continue;
    d.remarks.push_back(fmt::format(
        "{} conducted to {} at one touch ({:.3g} ohm) and not at a later one: look there",
        s.board.expectation.point(h.at).id, s.board.expectation.point(h.other_at).id, h.ohms));
  }
  if (std::string eye = in_words(s, landed_by_eye(s)); !eye.empty())
    d.remarks.push_back(std::move(eye));
  const auto undone = std::ranges::count(s.plan.placements, "undone", &plan::Placement::taken_back);
  if (undone > 0)
    d.remarks.push_back(
        fmt::format("{} touch{} taken back by hand", undone, undone == 1 ? " was" : "es were"));
}

void remarks(const Study& s, bool complete, Diagnosis& d) {
  if (s.board.expectation.basis == "artwork") {
    d.remarks.push_back("matches its artwork at best; the design was not checked");
  }
  if (std::string put_off = expect::deferred_in_words(s.board.expectation); !put_off.empty())
    d.remarks.push_back(std::move(put_off));
  if (const std::set<std::string> early = joined_early(s); !early.empty()) {
    d.remarks.push_back(
        fmt::format("pieces of {} conduct to each other, which nothing joins at this stage: that "
                    "is no fault; is "
                    "the stage right, and are all joins listed that are made?",
                    fmt::join(early, ", ")));
  }
  if (!complete) d.remarks.push_back("the run did not reach its end");
  if (complete && d.coverage.tested == 0 && d.untested.empty())
    d.remarks.push_back("nothing was tested: no point is left that is required and not waived");
  if (!s.evidence.bad_blocks().empty()) {
    d.remarks.push_back(
        fmt::format("{} block(s) of readings were thrown away because their controls read wrong or "
                    "were missing",
                    s.evidence.bad_blocks().size()));
  }
  for (std::string& remark : bench_remarks(s, d)) d.remarks.push_back(std::move(remark));
  for (const plan::Placement& p : s.plan.placements) {
    for (const std::string& laying : p.cannot_tell) {
      d.remarks.push_back(
          fmt::format("placement {}: the readings would look the same {}: check the laying by eye",
                      p.name, laying));
    }
  }
  not_in_air(s, d);
  check_never_said_no(s, d);
  by_hand(s, d);
  // By a reference the isolation measurement is seen to tell more than a short from nothing.
  const Ohms bridge = s.board.design.board.limits.bridge;
  const bool isolates = std::ranges::find(s.plan.steps, plan::StepKind::isolation,
                                          &plan::Step::kind) != s.plan.steps.end();
  if (isolates && std::ranges::none_of(s.plan.steps, [&](const plan::Step& step) {
        return step.kind == plan::StepKind::reference && step.limit.value >= bridge.value;
      }))
    d.remarks.push_back(
        "the adapter has no reference of high resistance: that it tells a leak from insulation "
        "rests on its word");
  if (s.plan.wires == 2)
    d.remarks.push_back(
        "two-wire adapter: too much resistance below the continuity limit cannot be seen");
}

// What a placement that was laid wrongly reads says nothing of the board.
std::vector<plan::Reading> without(const plan::Plan& plan, std::span<const plan::Reading> readings,
                                   const std::vector<Suspicion>& suspicions) {
  std::vector<plan::Reading> kept;
  std::ranges::copy_if(readings, std::back_inserter(kept), [&](const plan::Reading& r) {
    const std::size_t placement = plan.step(r.step).placement;
    return std::ranges::find(suspicions, placement, &Suspicion::placement) == suspicions.end();
  });
  return kept;
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

std::string_view name(WhyCannotTell w) {
  switch (w) {
    case WhyCannotTell::not_reached:
      return "not-reached";
    case WhyCannotTell::contact_unproven:
      return "contact-unproven";
    case WhyCannotTell::doubtful:
      return "doubtful";
    case WhyCannotTell::broken_off:
      return "broken-off";
    case WhyCannotTell::no_touch:
      return "no-touch";
    case WhyCannotTell::reopened:
      return "reopened";
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
                   std::span<const plan::Reading> readings, bool complete, const Harness& harness) {
  const std::vector<plan::Reading> trusted = without_feigned(board, plan, readings, harness);
  const Study all(board, plan, trusted, harness);
  const std::vector<Suspicion> suspicions = laid_wrongly(all);
  const std::vector<plan::Reading> kept = without(plan, trusted, suspicions);
  std::optional<Study> rest;
  if (!suspicions.empty()) rest.emplace(board, plan, kept, harness);
  const Study& study = rest ? *rest : all;
  Diagnosis d;
  for (auto list : {open_findings(study), isolation_findings(study), resistance_findings(study)}) {
    for (Finding& f : list) d.findings.push_back(std::move(f));
  }
  std::ranges::stable_sort(d.findings, [](const Finding& a, const Finding& b) {
    return std::tie(a.kind, a.nets, a.parts) < std::tie(b.kind, b.nets, b.parts);
  });
  d.foil = study.fitted.foil.fit;
  derive_states(study, complete, d);
  say_what_is_tested(study, suspicions, complete, d);
  for (std::string& remark : perhaps_exchanged(all, suspicions))
    d.remarks.push_back(std::move(remark));
  for (const Suspicion& one : suspicions) {
    d.remarks.push_back(
        one.words + "; what it reads is set aside: check the laying and the wires, and test again");
  }
  remarks(study, complete, d);
  const bool whole = complete && suspicions.empty() && d.untested.empty() &&
                     d.cannot_tell.empty() && d.breaks.found + d.bridges.found == 0 &&
                     d.coverage.tested > 0 &&
                     d.coverage.tested + d.coverage.waived == d.coverage.required;
  d.verdict = !d.findings.empty() ? Verdict::fail : whole ? Verdict::pass : Verdict::incomplete;
  return d;
}

}  // namespace isthmus::diagnose
