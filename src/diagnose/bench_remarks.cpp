// SPDX-License-Identifier: Apache-2.0
#include "diagnose/bench_remarks.hpp"

#include <fmt/format.h>

#include "diagnose/poor_contacts.hpp"

namespace isthmus::diagnose {
namespace {

double in_um(Nanometres t) { return static_cast<double>(t.value) * 1e-3; }

// What the thicker foil makes of it.
constexpr double kWorthSaying = 1.1;

// Of a thickness that does not fit what was read.
std::string check_copper(const Study& s) {
  const FoilChoice& foil = s.fitted.foil;
  if (!foil.thinnest) return "";
  const Nanometres stated = expect::foil_of(s.board).thickness;
  std::string text =
      fmt::format("check copper: thickness (stated {:.4g} um; {} {:.4g} um)", in_um(stated),
                  foil.fit ? "readings fit" : "boards mostly have", in_um(*foil.best));
  if (*foil.thinnest != *foil.thickest)
    text += fmt::format("; {:.4g} to {:.4g} um are not ruled out", in_um(*foil.thinnest),
                        in_um(*foil.thickest));
  if (*foil.best < stated && !foil.no_foil) text += "; or the tracks are narrower than drawn";
  return text;
}

// What too much resistance may still hide behind.
std::string floor_in_words(const Study& s) {
  const auto from = noticed_from(s.board, s.plan, s.evidence, s.fitted);
  if (!from) return "";
  const Contacts& c = s.fitted.contacts;
  std::string text = fmt::format(
      "high resistance is noticed from {:.2g} ohm above the copper's own on: limit {:.2g} ohm, two "
      "contacts in line {:.2g} +- {:.2g} ohm",
      from->ohms, s.board.design.board.limits.excess.value, c.pair, c.reach);
  if (from->if_thicker > kWorthSaying * from->ohms)
    text += fmt::format(
        "; from {:.2g} ohm on if the copper is {:.4g} um thick, which the readings fit as well",
        from->if_thicker, in_um(s.fitted.foil.thicker->thickness));
  return text;
}

std::string nets_of(const Study& s, std::uint32_t piece) {
  std::set<std::string> nets;
  for (const GroupId g : s.board.faults.groups_of_piece[piece])
    nets.insert(s.board.expectation.group(g).net);
  return fmt::format("{}", fmt::join(nets, ", "));
}

// Of points alone; a waiver of a join, a place or a pair names what it leaves out itself.
std::string lost_by_waivers(const Study& s, const Diagnosis& d) {
  constexpr std::size_t kShown = 6;
  std::size_t breaks = 0;
  std::set<std::string> nets, bridges;
  for (std::size_t e = 0; e < d.states.size(); ++e) {
    if (d.states[e] != expect::FaultState::waived) continue;
    const expect::PossibleFault& f = s.board.faults.entries[e];
    if (expect::is_break(f.kind)) {
      ++breaks;
      nets.insert(nets_of(s, f.piece));
    } else {
      const std::string a = nets_of(s, f.piece), b = nets_of(s, f.other);
      if (!a.empty() && !b.empty()) bridges.insert(std::min(a, b) + " and " + std::max(a, b));
    }
  }
  if (breaks + bridges.size() == 0) return "";
  std::string text = "not looked for, as waived:";
  if (breaks > 0)
    text += fmt::format(" {} break{} of {}", breaks, breaks == 1 ? "" : "s", fmt::join(nets, ", "));
  if (!bridges.empty()) text += breaks > 0 ? "; bridges between " : " bridges between ";
  std::size_t shown = 0;
  for (const std::string& pair : bridges) {
    if (shown == kShown) break;
    text += (shown++ > 0 ? ", " : "") + pair;
  }
  if (bridges.size() > kShown) text += fmt::format(", and {} more pairs", bridges.size() - kShown);
  return text;
}

// Nothing is known to conduct to such a tip, so that no control shows it under load.
std::string alone(const Study& s) {
  constexpr std::size_t kShown = 6;
  std::set<std::string> points;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (s.evidence.isolations(p).empty()) continue;
    for (const plan::Probe& probe : s.plan.placements[p].probes) {
      if (!s.evidence.partner(p, probe.channel) &&
          s.evidence.touch(p, probe.channel) == Touch::proven)
        points.insert(s.board.expectation.point(probe.point).id);
    }
  }
  if (points.empty()) return "";
  std::vector<std::string> shown(points.begin(), points.end());
  const std::size_t more = shown.size() - std::min(shown.size(), kShown);
  shown.resize(shown.size() - more);
  return fmt::format(
      "nothing else is on the copper of {} tip{} ({}{}): metal to {} neighbours would show by "
      "current; for leakage, that {} contact holds at the test voltage rests on the adapter's "
      "word; a twin tip would show it",
      points.size(), points.size() == 1 ? "" : "s", fmt::join(shown, ", "),
      more > 0 ? fmt::format(" and {} more", more) : "", points.size() == 1 ? "its" : "their",
      points.size() == 1 ? "its" : "their");
}

}  // namespace

std::vector<std::string> bench_remarks(const Study& s, const Diagnosis& d) {
  std::vector<std::string> list;
  for (std::string text : {check_copper(s), floor_in_words(s), alone(s), lost_by_waivers(s, d)}) {
    if (!text.empty()) list.push_back(std::move(text));
  }
  for (std::string& tip : dull_tips(s)) list.push_back(std::move(tip));
  return list;
}

}  // namespace isthmus::diagnose
