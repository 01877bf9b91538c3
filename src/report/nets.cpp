// SPDX-License-Identifier: Apache-2.0
#include "report/nets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <tuple>

namespace isthmus::report {

std::string net_of(const expect::Board& board, IslandId island) {
  for (const expect::Group& g : board.expectation.groups) {
    if (std::ranges::binary_search(g.islands, island)) return g.net;
  }
  return "#" + std::to_string(index(island));
}

std::vector<NetGap> net_gaps(const expect::Board& board) {
  std::vector<std::string> nets;
  for (std::size_t i = 0; i < board.copper.islands.size(); ++i) {
    nets.push_back(net_of(board, IslandId{static_cast<std::uint32_t>(i)}));
  }
  std::set<std::tuple<std::string, std::string, LayerId>> seen;
  std::vector<NetGap> list;
  for (const copper::Gap& gap : board.gaps) {  // ascending, so the first of a pair is its closest
    if (gap.kind == copper::GapKind::wire) continue;
    if (!is_etched(board.expectation.stage, gap.layer, board.copper.layers)) continue;
    const auto [first, second] = std::minmax(nets[index(gap.a)], nets[index(gap.b)]);
    if (first != second && seen.insert({first, second, gap.layer}).second)
      list.push_back({first, second, &gap});
  }
  return list;
}

std::vector<UnlessBridged> unless_bridged(const expect::Board& board) {
  std::vector<UnlessBridged> list;
  for (const expect::PossibleFault& f : board.faults.entries) {
    if (!f.unless_bridged) continue;
    list.push_back({net_of(board, board.faults.islands_of_piece[f.piece].front()),
                    expect::side_name(f, board.copper.layers), &f});
  }
  return list;
}

std::vector<UnlessBridged> unless_bridged(const expect::Board& board,
                                          const diagnose::Diagnosis& d) {
  const auto& entries = board.faults.entries;
  std::vector<UnlessBridged> list = unless_bridged(board);
  std::erase_if(list, [&](const UnlessBridged& u) {
    if (d.states.size() == entries.size())
      return d.states[static_cast<std::size_t>(u.entry - entries.data())] !=
             expect::FaultState::excluded;
    return u.entry->waived || std::ranges::any_of(d.cannot_tell, [&](const auto& c) {
             return c.kind == u.entry->kind && c.at == u.entry->at && c.side == u.side;
           });
  });
  return list;
}

bool broken_off(const RunView& run) { return run.result.state == "broken off"; }

std::string window_in_words(std::string_view stage, Nanometres window,
                            const std::function<std::string(double)>& length) {
  std::string text = length(static_cast<double>(window.value));
  const bool joined = stage == name(Stage::joined) || stage == name(Stage::finished);
  if (joined && window < expect::kHandReach) {
    text += fmt::format(" ({} round joins made by hand)",
                        length(static_cast<double>(expect::kHandReach.value)));
  }
  return text;
}

namespace {

std::string counted(std::size_t n, const char* what) {
  return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s");
}

}  // namespace

std::string possible_faults_in_words(const diagnose::Diagnosis& d, const std::string& window) {
  const diagnose::FaultCounts &a = d.breaks, &b = d.bridges;
  if (a.listed + b.listed == 0 && d.coverage.pairs_required > 0) {  // a run of an older program
    return fmt::format("{} of {} pairs within {} tested", d.coverage.pairs_tested,
                       d.coverage.pairs_required, window);
  }
  std::string text = fmt::format("{} and {} within {}", counted(a.listed, "possible break"),
                                 counted(b.listed, "possible bridge"), window);
  const std::string hidden = a.unless_bridged == 0
                                 ? ""
                                 : fmt::format(
                                       " ({} of the breaks unless bridged within {} own "
                                       "or a tied net)",
                                       a.unless_bridged, a.unless_bridged == 1 ? "its" : "their");
  const std::size_t open = a.cannot_tell + b.cannot_tell, found = a.found + b.found;
  if (open + found == 0) {
    text += ": all excluded" + hidden;
  } else {
    text +=
        fmt::format(": {} excluded", a.excluded + a.harmless + b.excluded + b.harmless) + hidden;
    if (found > 0) text += fmt::format(", {} suspected", found);
    if (open > 0) text += fmt::format(", {} cannot be told", open);
  }
  if (a.waived + b.waived > 0) text += fmt::format(", {} waived by name", a.waived + b.waived);
  if (d.parallel_joins > 0)
    text += fmt::format(
        "; {} parallel to others",
        d.parallel_joins == 1 ? "1 join lies" : counted(d.parallel_joins, "join") + " lie");
  return text;
}

std::string counts_in_words(const RunView& run, const std::string& window) {
  const diagnose::Diagnosis& d = run.result.diagnosis;
  const diagnose::Coverage& c = d.coverage;
  std::string text = fmt::format("{} of {} points tested", c.tested, c.required);
  if (c.waived > 0) text += fmt::format(", {} waived by name", c.waived);
  text += "; " + possible_faults_in_words(d, window);
  if (c.pairs_beyond_window > 0)
    text += fmt::format("; {} not tested", counted(c.pairs_beyond_window, "farther pair"));
  return text;
}

std::string why_incomplete_in_words(const diagnose::Diagnosis& d) {
  const diagnose::Coverage& c = d.coverage;
  if (c.tested == 0) return "nothing was tested: ";
  const std::string but = "nothing wrong found, but ";
  if (c.tested + c.waived < c.required) return but;  // the points, counted after it
  const std::size_t open = d.breaks.cannot_tell + d.bridges.cannot_tell;
  if (open > 0) return but + counted(open, "possible fault") + " cannot be told; ";
  return but + "not everything is proven; ";
}

std::string cannot_tell_in_words(const diagnose::Diagnosis& d) {
  const auto breaks = static_cast<std::size_t>(
      std::ranges::count_if(d.cannot_tell, [](const auto& c) { return expect::is_break(c.kind); }));
  const std::size_t facings = d.cannot_tell.size() - breaks;
  std::string text = breaks > 0 ? counted(breaks, "break") : "";
  if (facings == 0) return text;
  text += (breaks > 0 ? ", " : "") + counted(facings, "facing");
  // A pair counts by its worst facing: with one that is found it is no pair that cannot be told.
  if (d.bridges.found == 0) text += " of " + counted(d.bridges.cannot_tell, "pair");
  return text;
}

namespace {

// Of one hole both ends are two places.
bool places_differ(const diagnose::CannotTell& c) {
  if (c.would_tell.size() != 2) return false;
  return c.would_tell[0] != c.would_tell[1] || (c.from.size() == 2 && c.from[0] != c.from[1]);
}

std::string place_in_words(const diagnose::CannotTell& c, std::size_t i) {
  const std::string& id = c.would_tell[i];
  const bool say = i < c.from.size() && (c.from[i].either || is_bare_name(id));
  return id + (say ? fmt::format(" ({})", name(c.from[i].side)) : "");
}

// Where a probe stood and touched no metal: the same touch again would tell no more.
std::string no_contact_in_words(const diagnose::CannotTell& c) {
  if (c.why != diagnose::WhyCannotTell::contact_unproven) return "";
  std::string text;
  for (std::size_t i = 0; i < c.from.size() && i < c.would_tell.size(); ++i) {
    if (c.from[i].no_contact)
      text += (text.empty() ? "no contact at " : " and ") + place_in_words(c, i);
  }
  return text;
}

}  // namespace

std::string would_tell_in_words(const diagnose::CannotTell& c) {
  using diagnose::WhyCannotTell;
  if (c.why == WhyCannotTell::broken_off) return "the run did not get there";
  if (c.why == WhyCannotTell::no_touch) return "no touch can tell: look at it, or waive it by name";
  if (c.why == WhyCannotTell::reopened) return "measured again once the fault beside it is mended";
  if (c.why == WhyCannotTell::doubtful) return "readings contradict each other";
  if (c.would_tell.empty()) return "no probe reaches its copper: waive it by name, or look";
  const bool two = places_differ(c);
  const std::string places =
      two ? place_in_words(c, 0) + " and " + place_in_words(c, 1) : place_in_words(c, 0);
  if (const std::string missing = no_contact_in_words(c); !missing.empty()) return missing;
  if (c.why == WhyCannotTell::contact_unproven)
    return fmt::format("no trusted reading of {}{}", places, two ? " together" : "");
  return fmt::format("touch {}{}", places, two ? " at once" : "");
}

std::string foil_in_words(const diagnose::FoilFit& f) {
  const auto um = [](Nanometres x) { return static_cast<double>(x.value) * 1e-3; };
  std::string text = fmt::format(
      "{:.1f} +- {:.1f} um thick, each edge {:.0f} +- {:.0f} um short of the drawing (from {} "
      "readings)",
      um(f.thickness), um(f.thickness_sd), um(f.undercut), um(f.undercut_sd), f.readings);
  if (f.at_bound) {
    text +=
        "; held there: no usual foil and etch explain all that was read. Look for narrow, "
        "over-etched tracks";
  }
  return text;
}

bool is_bare_name(std::string_view id) {
  return id.starts_with('@') && !id.ends_with("@top") && !id.ends_with("@bottom");
}

std::string place_in_words(const expect::Board& board, const std::string& id) {
  const auto& points = board.expectation.points;
  const auto point = std::ranges::find(points, id, &expect::Point::id);
  if (!is_bare_name(id) || point == points.end() || point->side == Side::both) return id;
  return fmt::format("{} ({})", id, name(point->side));
}

std::string basis_in_words(const RunView& run) {
  if (run.head.basis != "artwork") return "";
  return run.result.diagnosis.verdict == diagnose::Verdict::pass
             ? "matches its artwork; the design was not checked; "
             : "only the artwork to compare with; the design was not checked; ";
}

bool simulated(const record::RunHead& head) {
  return head.adapter_address.starts_with("sim:") ||
         std::ranges::any_of(head.remarks, [](const std::string& remark) {
           return remark.starts_with(kSimulatedRemark);
         });
}

std::string beside_the_verdict(const RunView& run) {
  return simulated(run.head) ? " (simulated)" : "";
}

std::string time_in_words(const RunView& run) {
  return fmt::format("in {:.1f} s{}", run.result.seconds,
                     simulated(run.head) ? " of the simulator's clock" : "");
}

std::vector<std::string> all_remarks(const RunView& run) {
  std::vector<std::string> list = run.head.remarks;
  const auto& found = run.result.diagnosis.remarks;
  list.insert(list.end(), found.begin(), found.end());
  return list;
}

std::string percent(double share) {
  return share < 0.005 ? "< 1 %" : fmt::format("{:.0f} %", share * 100);
}

}  // namespace isthmus::report
