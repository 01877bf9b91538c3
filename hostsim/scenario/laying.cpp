// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/laying.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "hostsim/scenario/terminals.hpp"

namespace isthmus::hostsim {
void hang_on(const BoardGraph& graph, Terminals& terminals, Laid& laid) {
  for (const NodeLeak& l : graph.leaks) {
    laid.leaks.push_back({terminals.at(l.a), terminals.at(l.b), l.ohm, l.exponent, l.drift_per_s});
  }
  for (const NodeBattery& b : graph.batteries) {
    laid.batteries.push_back({terminals.at(b.plus), terminals.at(b.minus), b.volts});
  }
}

Laid lay_on(BoardGraph& graph, const Touched& touched, const ContactDraw& contact, int channels,
            Random& random) {
  Laid laid;
  laid.tips.resize(static_cast<std::size_t>(channels));
  Terminals terminals(graph.network);
  for (int channel = 1; channel <= channels; ++channel) {
    const double ohm = contact.ohm * random.between(1 - contact.spread, 1 + contact.spread);
    const bool missed = random.chance(contact.miss);
    const auto found = touched.find(channel);
    if (found == touched.end() || missed) continue;
    laid.tips[static_cast<std::size_t>(channel - 1)] = {terminals.at(found->second), ohm};
  }
  hang_on(graph, terminals, laid);
  laid.conductors = terminals.reduce(graph.network, graph.farad);
  return laid;
}

Result<const formats::PlacementEntry*> find_placement(const formats::FixtureFile& fixture,
                                                      const std::string& name) {
  std::string names;
  for (const formats::PlacementEntry& p : fixture.placements) {
    if (p.name == name) return &p;
    names += (names.empty() ? "" : ", ") + p.name;
  }
  return Problem{
      fixture.path.string(),       0, 0, "SIM-020", fmt::format("no placement '{}'", name),
      "the fixture has: " + names, ""};
}

Result<Done> check_channels(const formats::FixtureFile& fixture, int channels) {
  for (const formats::PlacementEntry& placement : fixture.placements) {
    for (const auto& [channel, probe] : placement.probes) {
      const int largest = std::max(channel, probe.twin.value_or(0));
      if (largest <= channels) continue;
      return Problem{fixture.path.string(),
                     probe.line,
                     probe.column,
                     "SIM-021",
                     fmt::format("channel {} is not on this adapter of {}", largest, channels),
                     "give the scenario more channels, or make a fixture for fewer",
                     ""};
    }
  }
  return Done{};
}

}  // namespace isthmus::hostsim
