// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/audit.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "tests/audit/auditor.hpp"

namespace isthmus::audit {
namespace {

std::string row(const char* what, const Counts& c) {
  return fmt::format("{:<8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}\n", what, c.made, c.harmful,
                     c.caught, c.named, c.escaped, c.on_untested);
}

std::string row(const Escape& e) {
  std::string nets;
  for (const std::string& n : e.nets) nets += (nets.empty() ? "" : " / ") + n;
  std::string text = fmt::format("  {:<6} {:>8.3f} {:>8.3f} {:<6} {} {}", name(e.kind),
                                 to_mm(e.at.x), to_mm(e.at.y), name(e.side),
                                 e.parts && e.bridges ? "parts and bridges"
                                 : e.parts            ? "parts"
                                                      : "bridges",
                                 nets);
  if (e.reads_differently) text += "; reads differently, passes";
  if (e.on_untested) text += "; the verdict calls points of it untested";
  for (std::size_t i = 0; i < e.would_tell.size() && i < 2; ++i)
    text += (i == 0 ? "; would tell: " : ", ") + e.would_tell[i];
  return text + "\n";
}

}  // namespace

Counts Audit::total() const {
  Counts t;
  for (const auto& [kind, c] : counts) {
    t.made += c.made, t.harmful += c.harmful, t.caught += c.caught, t.named += c.named;
    t.escaped += c.escaped, t.on_untested += c.on_untested;
  }
  return t;
}

// The program keeps no states of its entries yet: nothing is named.
bool named(const diagnose::Diagnosis&, const expect::FaultList&, Position, Side, bool) {
  return false;
}

Result<Audit> audit(const expect::Board& board, const formats::FixtureFile& fixture,
                    const AuditWish& wish) {
  Diagnostics notes;
  auto plan = plan::make_plan(board, fixture, wish.means, notes);
  if (!plan) return plan.problem();
  return Auditor(board, std::move(*plan), wish).run();
}

Result<StepAudit> audit_without_each_step(const expect::Board& board,
                                          const formats::FixtureFile& fixture,
                                          const AuditWish& wish) {
  Diagnostics notes;
  auto plan = plan::make_plan(board, fixture, wish.means, notes);
  if (!plan) return plan.problem();
  Auditor auditor(board, std::move(*plan), wish);
  std::vector<bool> alone(auditor.plan().steps.size(), false);
  for (const auto& steps : auditor.steps_that_tell()) {
    if (steps.size() == 1) alone[steps.front()] = true;
  }
  StepAudit out;
  for (std::size_t i = 0; i < alone.size(); ++i) {
    const plan::StepKind kind = auditor.plan().steps[i].kind;
    if (kind != plan::StepKind::continuity && kind != plan::StepKind::isolation) continue;
    ++out.tried;
    if (!alone[i] && auditor.without(i) == diagnose::Verdict::pass) out.idle.push_back(i);
  }
  return out;
}

std::string in_words(const Audit& a, std::size_t most_escapes) {
  std::string text =
      fmt::format("{} cells of copper, {} runs, {} places, {} steps\nthe board as drawn: {}\n",
                  a.cells, a.runs, a.places, a.steps, name(a.good));
  for (std::size_t i = 0; i < a.good_troubles.size() && i < 10; ++i)
    text += "  " + a.good_troubles[i] + "\n";
  text += fmt::format("{:<8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}\n", "faults", "made", "harmful",
                      "caught", "named", "ESCAPED", "untested");
  for (const auto& [kind, c] : a.counts) text += row(name(kind), c);
  text += row("all", a.total());
  for (std::size_t i = 0; i < a.escapes.size() && i < most_escapes; ++i) text += row(a.escapes[i]);
  if (a.escapes.size() > most_escapes)
    text += fmt::format("  and {} more (--all)\n", a.escapes.size() - most_escapes);
  return text;
}

}  // namespace isthmus::audit
