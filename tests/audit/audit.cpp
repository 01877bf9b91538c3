// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/audit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <random>

#include "tests/audit/auditor.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::audit {
namespace {

std::string row(const char* what, const Counts& c) {
  return fmt::format("{:<8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}\n", what, c.made, c.harmful,
                     c.caught, c.named, c.escaped, c.on_untested, c.unlisted);
}

std::string what_it_does(const Escape& e) {
  std::string text = e.parts && e.bridges ? "parts and bridges" : e.parts ? "parts" : "bridges";
  for (std::size_t i = 0; i < e.nets.size(); ++i) text += (i == 0 ? " " : " / ") + e.nets[i];
  if (e.reads_differently) text += "; reads differently, and passes";
  if (e.unlisted) text += "; not on the list";
  if (e.on_untested) text += "; the verdict calls points of it untested";
  for (std::size_t i = 0; i < e.would_tell.size() && i < 2; ++i)
    text += (i == 0 ? "; would tell: " : ", ") + e.would_tell[i];
  return text;
}

// Escapes that do the same are one line: where the first lies, and where the last.
struct Line {
  std::string head, does;
  Position first, last;
  std::size_t times{};
};

std::vector<Line> lines_of(const std::vector<Escape>& escapes) {
  std::vector<Line> lines;
  std::map<std::string, std::size_t> known;
  for (const Escape& e : escapes) {
    const std::string head = fmt::format("{:<6} {:<6}", name(e.kind), name(e.side));
    const std::string does = what_it_does(e);
    const auto [it, is_new] = known.insert({head + does, lines.size()});
    if (is_new) lines.push_back({head, does, e.at, e.at, 0});
    lines[it->second].last = e.at;
    ++lines[it->second].times;
  }
  return lines;
}

std::string in_words(const Line& line) {
  const auto place = [](Position p) {
    return fmt::format("({:.2f}, {:.2f})", to_mm(p.x), to_mm(p.y));
  };
  const std::string where = line.times == 1 ? place(line.first)
                                            : fmt::format("{} times, {} to {}", line.times,
                                                          place(line.first), place(line.last));
  return fmt::format("  {} {} {}\n", line.head, where, line.does);
}

}  // namespace

Counts Audit::total() const {
  Counts t;
  for (const auto& [kind, c] : counts) {
    t.made += c.made, t.harmful += c.harmful, t.caught += c.caught, t.named += c.named;
    t.escaped += c.escaped, t.on_untested += c.on_untested, t.unlisted += c.unlisted;
  }
  return t;
}

Result<Audit> audit(const expect::Board& board, const formats::FixtureFile& fixture,
                    const AuditWish& wish) {
  Diagnostics notes;
  auto plan = test::foretold_plan(board, fixture, wish.means, notes);
  if (!plan) return plan.problem();
  // An ideal bench: its wires were heard apart.
  for (plan::Placement& p : plan->placements) p.tried_in_air = true;
  return Auditor(board, std::move(*plan), wish).run();
}

formats::FixtureFile with_probes_missing(formats::FixtureFile fixture, unsigned seed, unsigned of) {
  std::minstd_rand random(seed + 1);
  for (formats::PlacementEntry& placement : fixture.placements)
    std::erase_if(placement.probes, [&](const auto&) { return random() / 64 % of == 0; });
  std::erase_if(fixture.placements,
                [](const formats::PlacementEntry& p) { return p.probes.empty(); });
  return fixture;
}

Result<StepAudit> audit_without_each_step(const expect::Board& board,
                                          const formats::FixtureFile& fixture,
                                          const AuditWish& wish) {
  Diagnostics notes;
  auto plan = test::foretold_plan(board, fixture, wish.means, notes);
  if (!plan) return plan.problem();
  // An ideal bench: its wires were heard apart.
  for (plan::Placement& p : plan->placements) p.tried_in_air = true;
  return Auditor(board, std::move(*plan), wish).without_each_step();
}

std::string in_words(const Advice& a) {
  const std::size_t all = a.right + a.nobody + a.wrong.size() + a.missed.size();
  if (all == 0) return "";
  std::string text = fmt::format(
      "advice on {} named single faults: {} right, {} where nothing would tell, {} WRONG, {} "
      "MISSED\n",
      all, a.right, a.nobody, a.wrong.size(), a.missed.size());
  for (const auto& [word, which] : {std::pair{"wrong", &a.wrong}, std::pair{"missed", &a.missed}}) {
    for (std::size_t i = 0; i < which->size() && i < 5; ++i)
      text += fmt::format("  advice {} on {}\n", word, (*which)[i]);
  }
  return text;
}

std::string in_words(const std::vector<Escape>& escapes, std::size_t most_lines) {
  const std::vector<Line> lines = lines_of(escapes);
  std::string text;
  for (std::size_t i = 0; i < lines.size() && i < most_lines; ++i) text += in_words(lines[i]);
  if (lines.size() > most_lines)
    text += fmt::format("  and {} more such lines (--all)\n", lines.size() - most_lines);
  return text;
}

std::string in_words(const Audit& a, std::size_t most_lines) {
  std::string text =
      fmt::format("{} cells of copper, {} runs, {} places, {} steps\nthe board as drawn: {}\n",
                  a.cells, a.runs, a.places, a.steps, name(a.good));
  for (std::size_t i = 0; i < a.good_troubles.size() && i < 10; ++i)
    text += "  " + a.good_troubles[i] + "\n";
  text += fmt::format("{:<8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8} {:>8}\n", "faults", "made",
                      "harmful", "caught", "named", "ESCAPED", "untested", "unlisted");
  for (const auto& [kind, c] : a.counts) text += row(name(kind), c);
  text += row("all", a.total());
  return text + in_words(a.advice) + in_words(a.escapes, most_lines);
}

}  // namespace isthmus::audit
