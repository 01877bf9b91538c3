// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "diagnose/completeness.hpp"

namespace isthmus::diagnose {
namespace {

void remarks(const Study& s, bool complete, Diagnosis& d) {
  if (s.board.expectation.basis == "artwork") {
    d.remarks.push_back("matches its artwork at best; the design was not checked");
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
  say_what_is_tested(study, complete, d);
  remarks(study, complete, d);
  const bool whole = complete && d.untested.empty() && d.coverage.tested > 0 &&
                     d.coverage.tested + d.coverage.waived == d.coverage.required;
  d.verdict = !d.findings.empty() ? Verdict::fail : whole ? Verdict::pass : Verdict::incomplete;
  return d;
}

}  // namespace isthmus::diagnose
