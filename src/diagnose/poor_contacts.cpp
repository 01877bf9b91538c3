// SPDX-License-Identifier: Apache-2.0
#include "diagnose/poor_contacts.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace isthmus::diagnose {
namespace {

std::string tip_in_words(const Study& s, const plan::Probe& p) {
  return fmt::format("channel {} on {}", p.channel, s.board.expectation.point(p.point).id);
}

std::string in_words(const Study& s, const plan::Probe& a, const plan::Probe& b,
                     const Heard& heard) {
  const std::string below =
      heard.predicted
          ? fmt::format(" where {:.2g} are expected", band_of(*heard.predicted, s.fitted).expected)
          : "";
  return fmt::format(
      "{:.3g} ohm{}: poor contact of {} or of {}, or the copper between; clean pads and tips, seat "
      "it anew",
      heard.least(), below, tip_in_words(s, a), tip_in_words(s, b));
}

}  // namespace

std::vector<PoorContact> poor_contacts(const Study& s, const std::vector<Finding>& findings) {
  std::vector<PoorContact> list;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    const plan::Placement& placement = s.plan.placements[p];
    for (const auto& [pair, heard] : s.evidence.heard(p)) {
      if (!heard.dull_only() && excess_of(s.board, s.plan, heard, s.fitted) != Excess::unclear)
        continue;
      if (cleared_by_hand(s, p, pair)) continue;
      const plan::Probe &a = placement.probe(pair.first), &b = placement.probe(pair.second);
      const std::string& net = s.board.expectation.point(a.point).net;
      const bool found = std::ranges::any_of(findings, [&](const Finding& f) {
        return (f.kind == FindingKind::high_resistance || f.kind == FindingKind::open) &&
               std::ranges::find(f.nets, net) != f.nets.end();
      });
      if (!found) list.push_back({p, pair, a.point, b.point, in_words(s, a, b, heard)});
    }
  }
  return list;
}

std::vector<std::string> dull_tips(const Study& s) {
  std::vector<std::string> list;
  const double usual = s.fitted.contacts.pair + s.fitted.contacts.reach;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    for (const plan::Probe& probe : s.plan.placements[p].probes) {
      const auto ohms = s.evidence.twin_ohms(p, probe.channel);
      // Two-wire readings have the switches in them: nothing is usual there.
      if (s.plan.placements[p].round) continue;  // another landing tells
      if (!ohms || s.plan.wires != 4 || *ohms < usual + kLeastTarnish) continue;
      list.push_back(fmt::format(
          "poor contact in placement {}: {} and its twin, channel {}, read {:.3g} ohm to each "
          "other; clean pad and tips",
          s.plan.placements[p].name, tip_in_words(s, probe), *probe.twin, *ohms));
    }
  }
  return list;
}

}  // namespace isthmus::diagnose
