// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "isthmus/expect/capability.hpp"
#include "isthmus/formats/quantity.hpp"
#include "isthmus/report/report.hpp"
#include "report/holes.hpp"
#include "report/ink.hpp"
#include "report/nets.hpp"
#include "report/shortfalls.hpp"

namespace isthmus::report {
namespace {

std::string list(const std::vector<std::string>& items, const char* by = ", ",
                 std::size_t most = 12) {
  std::string text;
  for (std::size_t i = 0; i < items.size() && i < most; ++i) text += (i ? by : "") + items[i];
  if (items.size() > most) text += fmt::format(" and {} more", items.size() - most);
  return text;
}

// Three significant digits in the handiest unit.
std::string ohms(double value) {
  if (!(value < 1e36)) return "over range";
  constexpr std::pair<double, const char*> kUnits[] = {
      {1e9, "Gohm"}, {1e6, "Mohm"}, {1e3, "kohm"}, {1, "ohm"}, {1e-3, "mohm"}};
  for (const auto& [scale, unit] : kUnits) {
    if (std::abs(value) >= scale) return fmt::format("{:.3g} {}", value / scale, unit);
  }
  return fmt::format("{:.3g} mohm", value * 1e3);
}

std::string headline(const diagnose::Finding& f) {
  switch (f.kind) {
    case diagnose::FindingKind::open:
      return fmt::format("OPEN  net {} is broken into {} pieces", list(f.nets), f.parts.size());
    case diagnose::FindingKind::bridge:
      return fmt::format("BRIDGE  {} conduct to each other: {}", list(f.nets, " and "),
                         ohms(f.measured ? f.measured->value : 1e37));
    case diagnose::FindingKind::leakage:
      return fmt::format("LEAKAGE  between {}: {}, should be above {}", list(f.nets, " and "),
                         ohms(f.measured ? f.measured->value : 1e37), ohms(f.limit.value));
    case diagnose::FindingKind::high_resistance:
      return fmt::format("HIGH RESISTANCE  net {}: {}, should be below {}", list(f.nets),
                         ohms(f.measured ? f.measured->value : 1e37), ohms(f.limit.value));
  }
  return "";
}

double path_length(const std::vector<Position>& path) {
  double nm = 0;
  for (std::size_t i = 1; i < path.size(); ++i) nm += distance_nm(path[i - 1], path[i]);
  return nm;
}

std::string suspect_line(const diagnose::Suspect& s, const Ink& ink) {
  std::string text = fmt::format("      {}. {} {:<6} {:>5}  {}", s.rank, ink.at(s.at, s.side),
                                 s.side, percent(s.likelihood), s.why);
  if (path_length(s.path) > 1e6)
    text += fmt::format("; along {} to {}", ink.at(s.path.front(), s.side),
                        ink.at(s.path.back(), s.side));
  text += "\n";
  if (const std::string where = ink.whereabouts(s.at, s.side); !where.empty())
    text += "         " + where + "\n";
  return text;
}

std::string finding_text(const diagnose::Finding& f, int number, const Ink& ink) {
  constexpr std::size_t kShown = 5;
  std::string out = fmt::format("\n  {}. {}\n", number, ink.bad(headline(f)));
  for (std::size_t i = 0; i < f.parts.size(); ++i)
    out += fmt::format("     piece {}: {}\n", i + 1, list(f.parts[i]));
  out += f.suspects.empty() ? "     no place stands out\n" : "     look here:\n";
  for (std::size_t i = 0; i < f.suspects.size() && i < kShown; ++i)
    out += suspect_line(f.suspects[i], ink);
  if (f.suspects.size() > kShown)
    out += fmt::format("      and {} less likely place{} (report, --json)\n",
                       f.suspects.size() - kShown, f.suspects.size() == kShown + 1 ? "" : "s");
  return out;
}

std::string window_of(std::string_view stage, const formats::LimitKeys& limits, const Ink& ink) {
  return window_in_words(stage, limits.window, [&](double nm) { return ink.length(nm); });
}

std::string verdict_line(const RunView& run, const Ink& ink) {
  const diagnose::Diagnosis& d = run.result.diagnosis;
  const std::string counts = counts_in_words(run, window_of(run.head.stage, run.head.limits, ink));
  const std::string marked = beside_the_verdict(run);
  if (broken_off(run)) {
    if (d.findings.empty()) {
      return ink.doubt("NO VERDICT") + marked + "  the run broke off: " + run.result.problem +
             "\n  " + counts + "\n";
    }
    return (d.verdict == diagnose::Verdict::fail ? ink.bad("FAIL") : ink.doubt("INCOMPLETE")) +
           marked +
           fmt::format("  {} before the run broke off: {}\n  {}\n",
                       counted(d.findings.size(), "finding"), run.result.problem, counts);
  }
  const std::string basis = basis_in_words(run);
  switch (d.verdict) {
    case diagnose::Verdict::pass:
      return ink.good("PASS") + marked + "  " + basis + counts + "\n";
    case diagnose::Verdict::fail:
      return ink.bad("FAIL") + marked +
             fmt::format("  {}, {}{}\n", counted(d.findings.size(), "finding"), basis, counts);
    case diagnose::Verdict::incomplete:
      return ink.doubt("INCOMPLETE") + marked + "  " + why_incomplete_in_words(d) + basis + counts +
             "\n";
  }
  return "";
}

// Every step stands under one word, so that the numbers add up.
std::string steps_line(const plan::Plan& plan) {
  std::map<plan::StepKind, std::size_t> of;
  for (const plan::Step& s : plan.steps) ++of[s.kind];
  using enum plan::StepKind;
  std::string text = fmt::format(
      "{} steps: {} continuity (bound {}), {} isolation (bound {}) for {} pairs, {} contact",
      plan.steps.size(), of[continuity], plan.continuity.bound, of[isolation], plan.isolation.bound,
      plan.pairs, of[contact]);
  const auto more = [&text](std::size_t n, const char* what) {
    if (n > 0) text += fmt::format(", {} {}", n, what);
  };
  const std::size_t others = of[continuity] + of[isolation] + of[contact] + of[reference] +
                             of[board_voltage] + of[resistance];
  more(plan.steps.size() - others, "control");
  more(of[reference], "reference");
  more(of[board_voltage], "voltage on the board");
  more(of[resistance], "resistance");
  return text + "\n";
}

std::string waived_text(const diagnose::Diagnosis& d, const Ink& ink) {
  if (d.waived.empty()) return "";
  std::string out = "\n" + ink.doubt("Waived by name, not tested:") + "\n";
  for (const expect::Waiver& w : d.waived)
    out +=
        fmt::format("  {}: {}  ({})\n", w.net, w.point, w.why.empty() ? "no reason given" : w.why);
  return out;
}

std::string why_in_words(const diagnose::Untested& u) {
  constexpr std::size_t kLongest = 160;
  if (u.why == "no-contact")
    return "the tip touched no metal: clean the pad and the tip, lay it again";
  if (u.why == "not-tied") return "no trusted reading ties these points together";
  if (!u.detail.empty()) {
    if (u.detail.size() <= kLongest) return u.detail;
    return u.detail.substr(0, u.detail.rfind(' ', kLongest)) + " ... (report, --json)";
  }
  if (u.why == "contact-unproven") return "nothing proved that the tip touches";
  if (u.why == "doubtful") return "readings contradict each other";
  if (u.why == "not-reached") return "no probe reached it";
  if (u.why.starts_with("disagreement: the netlist knows no pad"))
    return u.why + ": mend the netlist, or waive each pad by name";
  return u.why;
}

// One line for all that a run which broke off did not get to.
std::string not_got_to(const std::vector<diagnose::Untested>& untested) {
  constexpr std::size_t kShown = 6;
  std::set<std::string> nets;
  std::vector<std::string> points;
  for (const diagnose::Untested& u : untested) {
    if (u.why != "broken-off") continue;
    nets.insert(u.net);
    points.insert(points.end(), u.points.begin(), u.points.end());
  }
  if (points.empty()) return "";
  return fmt::format("  {} of {}: {}  (the run did not get there)\n",
                     counted(points.size(), "point"), counted(nets.size(), "net"),
                     list(points, " ", kShown));
}

std::string untested_text(const diagnose::Diagnosis& d, const Ink& ink) {
  if (d.untested.empty()) return "";
  constexpr std::size_t kMostLines = 20;
  std::string out = "\n" + ink.doubt("Not tested:") + "\n" + not_got_to(d.untested);
  std::size_t lines = 0, left_out = 0;
  for (const diagnose::Untested& u : d.untested) {
    if (u.why == "broken-off") continue;
    if (++lines > kMostLines) {
      ++left_out;
      continue;
    }
    out += fmt::format("  {}: {}  ({})\n", u.net, list(u.points, " "), why_in_words(u));
  }
  if (left_out > 0) out += fmt::format("  and {} more (report, --json)\n", left_out);
  return out;
}

// Entries that the same touch would tell stand on one line.
std::string cannot_tell_text(const diagnose::Diagnosis& d, const Ink& ink) {
  constexpr std::size_t kMostLines = 8;
  if (d.cannot_tell.empty() || !d.findings.empty()) return "";
  std::vector<std::pair<std::string, std::vector<const diagnose::CannotTell*>>> lines;
  for (const diagnose::CannotTell& c : d.cannot_tell) {
    const std::string key = list(c.nets, " and ") + ": " + would_tell_in_words(c);
    const auto at = std::ranges::find(lines, key, [](const auto& l) { return l.first; });
    if (at == lines.end())
      lines.push_back({key, {&c}});
    else
      at->second.push_back(&c);
  }
  std::string out = "\n" + ink.doubt("Cannot be told (" + cannot_tell_in_words(d) + "):") + "\n";
  for (std::size_t i = 0; i < lines.size() && i < kMostLines; ++i) {
    const diagnose::CannotTell& first = *lines[i].second.front();
    const std::size_t n = lines[i].second.size();
    const std::string near = ink.near(first.at, first.side);
    out += fmt::format("  {}  ({}{} at {} {}{})\n", lines[i].first, n > 1 ? "first of " : "",
                       expect::is_break(first.kind)
                           ? (n > 1 ? fmt::format("{} breaks", n) : "break")
                           : (n > 1 ? fmt::format("{} bridges", n) : "bridge"),
                       ink.at(first.at, first.side), first.side, near.empty() ? "" : ", " + near);
  }
  if (lines.size() > kMostLines)
    out += fmt::format("  and {} more (report, --json)\n", lines.size() - kMostLines);
  return out;
}

std::string_view meaning(expect::DisagreementKind kind) {
  switch (kind) {
    case expect::DisagreementKind::open:
      return "the copper leaves a net in pieces";
    case expect::DisagreementKind::bridge:
      return "the copper connects two nets";
    case expect::DisagreementKind::no_copper:
      return "no copper lies under a pad";
    case expect::DisagreementKind::no_net:
      return "a pad belongs to no net";
    case expect::DisagreementKind::breakout:
      return "a hole reaches to the edge of its pad or beyond";
    case expect::DisagreementKind::marginal:
      return "copper meets or misses by less than 1 um: programs may differ";
  }
  return "";
}

// A point is named once, and not again where its net is named after it.
std::string who(const expect::Disagreement& d) {
  std::vector<std::string> points;
  for (const std::string& p : d.points) {
    const bool named = std::ranges::find(points, p) != points.end() ||
                       std::ranges::find(d.nets, p) != d.nets.end();
    if (!named) points.push_back(p);
  }
  const std::string nets = list(d.nets);
  return nets + (nets.empty() || points.empty() ? "" : ":  ") + list(points, "  ");
}

std::string disagreements(const std::vector<expect::Disagreement>& all, const Ink& ink) {
  constexpr std::size_t kShown = 12;  // of a kind
  std::map<expect::DisagreementKind, std::vector<const expect::Disagreement*>> kinds;
  for (const expect::Disagreement& d : all) kinds[d.kind].push_back(&d);
  std::string out = ink.bad(counted(all.size(), "disagreement") + ":") + "\n";
  for (const auto& [kind, found] : kinds) {
    out += fmt::format("  {} {}: {}\n", found.size(), name(kind), meaning(kind));
    std::size_t width = 0;
    for (std::size_t i = 0; i < found.size() && i < kShown; ++i) {
      width = std::max(
          width, fmt::format("{} {}", ink.at(found[i]->at, found[i]->side), found[i]->side).size());
    }
    for (std::size_t i = 0; i < found.size() && i < kShown; ++i) {
      const std::string at =
          fmt::format("{} {}", ink.at(found[i]->at, found[i]->side), found[i]->side);
      out += fmt::format("    {:<{}}  {}\n", at, width, who(*found[i]));
    }
    if (found.size() > kShown)
      out += fmt::format("    and {} more (--json)\n", found.size() - kShown);
  }
  return out;
}

std::string agreement(const expect::Expectation& e, const Ink& ink) {
  std::string out;
  const bool alone = e.basis == "artwork";
  if (alone)
    out += ink.doubt("The copper is its own netlist: this can show no error of the design.\n");
  if (!e.disagreements.empty()) return out + disagreements(e.disagreements, ink);
  if (alone) return out;
  return ink.good(e.basis == "gerber-x2" ? "The copper agrees with the nets its files name.\n"
                                         : "Artwork and netlist agree.\n");
}

std::string tightest_gaps(const expect::Board& board, const Ink& ink) {
  constexpr std::size_t kShown = 8;
  const std::vector<NetGap> gaps = net_gaps(board);
  std::string out = gaps.empty() ? "" : "Tightest gaps between nets:\n";
  for (std::size_t i = 0; i < gaps.size() && i < kShown; ++i) {
    const std::string layer{layer_name(gaps[i].gap->layer, board.copper.layers)};
    out += fmt::format("  {}  {} and {}  at {} {}\n", ink.fine(gaps[i].gap->distance_nm),
                       gaps[i].first, gaps[i].second, ink.at(gaps[i].gap->middle(), layer), layer);
  }
  return out;
}

std::string falling_short(const expect::Board& board, const Ink& ink) {
  constexpr std::size_t kShown = 8;
  const std::vector<expect::Shortfall> all = expect::shortfalls(board);
  if (all.empty()) return "";
  std::string out =
      counted(all.size(), "place") + " below what the process holds (inspect --page draws them):\n";
  const auto rows = alike(all);
  std::size_t said = 0;
  for (std::size_t i = 0; i < rows.size() && i < kShown; ++i) {
    const auto& [s, count] = rows[i];
    said += count;
    out += fmt::format("  {} {}, needs {}  {}  at {} {}{}\n", name(s->kind),
                       ink.fine(static_cast<double>(s->drawn.value)),
                       ink.fine(static_cast<double>(s->needed.value)), list(s->nets, " and "),
                       ink.at(s->at, s->side), s->side,
                       count > 1 ? fmt::format(", and {} like it", count - 1) : "");
  }
  if (said < all.size()) out += fmt::format("  and {} more (--json)\n", all.size() - said);
  return out;
}

std::string net_resistances_text(const expect::Board& board,
                                 const std::vector<expect::NetResistance>& nets,
                                 const std::string& tip) {
  std::string out = fmt::format(
      "Predicted resistance of each net, between tips of {} on its farthest points:\n", tip);
  const expect::Expectation& e = board.expectation;
  std::size_t width = 3, ends = 4;
  const auto way = [&](const expect::NetResistance& r) {
    return e.point(r.from).id + " to " + e.point(r.to).id;
  };
  for (const expect::NetResistance& r : nets) {
    width = std::max(width, e.group(r.group).net.size());
    ends = std::max(ends, way(r).size());
  }
  for (const expect::NetResistance& r : nets) {
    out += fmt::format("  {:<{}}  {:<{}}  {} (+- {})\n", e.group(r.group).net, width, way(r), ends,
                       ohms(r.predicted.ohms.value), ohms(r.predicted.uncertainty.value));
  }
  return out;
}

std::string islands_line(const expect::Board& board) {
  const auto islands = std::ranges::count_if(board.copper.islands, [&](const copper::Island& i) {
    return is_etched(board.expectation.stage, i.layer, board.copper.layers);
  });
  const formats::BoardFile& file = board.design.board;
  const std::size_t layers = file.inner.size() + (file.top ? 1u : 0u) + (file.bottom ? 1u : 0u);
  return fmt::format("{} on {}{}\n", counted(static_cast<std::size_t>(islands), "island"),
                     board.expectation.sheet ? "1 of " : "", counted(layers, "copper layer"));
}

std::string uncut_sheet(const expect::Board& board, const expect::Sheet& sheet) {
  std::set<std::size_t> holes;
  std::set<std::string> nets;
  for (const expect::Burr& b : sheet.burrs) {
    holes.insert(b.join);
    nets.insert(net_of(board, b.island));
  }
  std::string out =
      fmt::format("the {} is still one sheet of copper, a group of its own", name(sheet.side));
  if (!holes.empty())
    out += fmt::format("; a burr could reach it in {} of {}", counted(holes.size(), "hole"),
                       counted(nets.size(), "net"));
  return out + '\n';
}

}  // namespace

std::string inspect_text(const expect::Board& board, const Foretold& foretold,
                         const TextStyle& style) {
  const Places places = places_of(board);
  const Ink ink(style, &places);
  const expect::Expectation& e = board.expectation;
  std::size_t required = 0;
  for (const expect::Point& p : e.points) required += p.required ? 1u : 0u;
  std::string out = fmt::format("{}  stage {}, basis: {}\n", ink.bold(board.design.board.name),
                                name(e.stage), e.basis);
  out += fmt::format(
      "{} points ({} required) in {} groups; {} pairs to isolate within {}, {} farther apart\n",
      e.points.size(), required, e.groups.size(), e.pairs.size(),
      window_of(name(e.stage), board.design.board.limits, ink), e.pairs_beyond_window);
  out += islands_line(board);
  if (e.sheet) out += uncut_sheet(board, *e.sheet);
  out += agreement(e, ink);
  if (const std::string put_off = expect::deferred_in_words(e); !put_off.empty())
    out += ink.doubt(put_off) + "\n";
  if (ink.counts_from_corner()) out += kFromCorner;
  out += tightest_gaps(board, ink) + falling_short(board, ink);
  const std::string tip = ink.length(static_cast<double>(foretold.tip.value));
  if (foretold.holes) out += holes_text(board);
  if (foretold.nets) out += net_resistances_text(board, *foretold.nets, tip);
  if (const auto& between = foretold.between) {
    out += between->predicted
               ? fmt::format("{} to {}: {} (+- {}) between tips of {}\n", between->from,
                             between->to, ohms(between->predicted->ohms.value),
                             ohms(between->predicted->uncertainty.value), tip)
               : fmt::format("{} to {}: nothing conducts between them at this stage\n",
                             between->from, between->to);
  }
  return out;
}

std::string plan_text(const expect::Board& board, const plan::Plan& plan, const TextStyle& style) {
  const Ink ink(style);
  std::string out = fmt::format("{}  stage {}\n", ink.bold(board.design.board.name),
                                name(board.expectation.stage));
  const plan::Shortfall shortfall = plan::shortfall_of(board, plan.placements, plan.contact_check);
  if (shortfall.any()) out += ink.doubt("Warning: " + in_words(shortfall)) + "\n";
  out += fmt::format("{}, at least {} ({})\n", counted(plan.placements.size(), "placement"),
                     plan.placements_bound, plan.bound_reason);
  out += steps_line(plan);
  for (const plan::Placement& p : plan.placements) {
    const auto clips =
        static_cast<std::size_t>(std::ranges::count_if(p.probes, &plan::Probe::clip));
    out += fmt::format("\n{} ({}, {} probes{})\n", ink.bold("placement " + p.name),
                       p.side == Side::both ? "both sides" : fmt::format("{} side", name(p.side)),
                       p.probes.size() - clips,
                       clips > 0 ? fmt::format(", {} clip{}", clips, clips == 1 ? "" : "s") : "");
    for (const plan::Probe& probe : p.probes) {
      out += fmt::format("  {:>3}  {:<12} {}{}{}\n", probe.channel,
                         board.expectation.point(probe.point).id, ink.at(probe.at),
                         probe.clip || p.side == Side::both
                             ? fmt::format("  {}{}", probe.clip ? "clip, " : "", name(probe.side))
                             : "",
                         probe.twin ? fmt::format("  twin tip on {}", *probe.twin) : "");
    }
    for (const std::string& words : p.cannot_tell)
      out += ink.doubt(fmt::format("  cannot tell from a laying {}\n", words));
  }
  if (!plan.untested.empty()) out += ink.doubt("\nNot reached by this fixture:\n");
  for (const plan::Untested& u : plan.untested) {
    std::vector<std::string> places;
    for (const std::string& id : u.points) places.push_back(place_in_words(board, id));
    out += places.empty() ? fmt::format("  {}: {}\n", u.net, u.why)
                          : fmt::format("  {}: {}  ({})\n", u.net, list(places, " "), u.why);
  }
  return out;
}

std::string run_text(const RunView& run, const TextStyle& style) {
  const Ink ink(style, run.places ? &*run.places : nullptr);
  const diagnose::Diagnosis& d = run.result.diagnosis;
  std::string out = fmt::format("{}{}  stage {}, basis: {}\n", ink.bold(run.head.board),
                                run.head.unit.empty() ? "" : " unit " + run.head.unit,
                                run.head.stage, run.head.basis);
  out += verdict_line(run, ink);
  if (ink.counts_from_corner()) out += kFromCorner;
  int number = 0;
  for (const diagnose::Finding& f : d.findings) out += finding_text(f, ++number, ink);
  out += untested_text(d, ink) + cannot_tell_text(d, ink) + waived_text(d, ink);
  const std::vector<std::string> remarks = all_remarks(run);
  if (!remarks.empty()) out += "\n";
  for (const std::string& remark : remarks) out += fmt::format("Note: {}\n", remark);
  const formats::LimitKeys& l = run.head.limits;
  out += fmt::format(
      "\nLimits: continuity {}, isolation {} at {} V, bridge below {}, excess {}; pairs within "
      "{}\n",
      ohms(l.continuity.value), ohms(l.isolation.value), l.voltage.value, ohms(l.bridge.value),
      ohms(l.excess.value), window_of(run.head.stage, l, ink));
  if (run.result.diagnosis.foil)
    out += "Copper as measured: " + foil_in_words(*run.result.diagnosis.foil) + "\n";
  out += fmt::format(
      "{} measurements over {} {}. A screening at low voltage: no conformity to a test standard "
      "is claimed.\n",
      run.result.measurements, counted(run.result.placements, "placement"), time_in_words(run));
  if (broken_off(run)) {
    out += ink.bad(fmt::format("\n{}: the run broke off: {}",
                               d.findings.empty() ? "No verdict" : "Not a whole run",
                               run.result.problem)) +
           "\n";
  }
  return out;
}

}  // namespace isthmus::report
