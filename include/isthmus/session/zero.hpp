// SPDX-License-Identifier: Apache-2.0
// What leads, switches and tips add to a resistance, channel by channel: measured with all tips on
// one piece of bare copper, taken off the readings of a run.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>

#include "isthmus/adapter/instrument.hpp"
#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"

namespace isthmus::session {

struct Hooks;

// Ohms. A pair's zero is row1 of its source plus row2 of its return; either alone means nothing.
struct ChannelZero {
  double row1{}, row2{};
  bool operator==(const ChannelZero&) const = default;
};

// Holds for this adapter, this fixture, as many wires, and some hours.
struct Zero {
  std::string adapter_serial, fixture_hash, taken_utc;
  int wires{2};
  double uncertainty{};  // ohms, one standard deviation of a pair's zero
  std::map<std::string, std::map<plan::Channel, ChannelZero>> placements;
  // Placements of which each two channels were heard apart, their tips on nothing.
  std::set<std::string> in_air;
  bool operator==(const Zero&) const = default;
};

// Tries each placement of the fixture in the air, each two channels, where hooks.lift can say
// so (SES-034, SES-035 as in a run); then lays it (on copper) and measures every channel through rows 1 and 2
// against one channel, four times, and neighbours against each other. Fills in wires, placements
// and uncertainty. Errors: what `lay` and the link say; SES-007 voltage; SES-033 where a pair does
// not conduct (50 ohm or more), or where the pairs do not add up, as when a tip moved.
Result<Zero> take_zero(const formats::FixtureFile& fixture, adapter::Instrument& instrument,
                       const Hooks& hooks);

// Ohms that a pair of channels has in that placement; nothing where the zero does not know it.
std::optional<double> ohms_of(const Zero& zero, const std::string& placement, plan::Channel source,
                              plan::Channel ret);

// The reading without its leads; two expected contacts are left in, as the prediction has them.
plan::Measured zeroed(const plan::Measured& raw, double ohms, const Zero& zero, Ohms contact);

// Below zero by more than three standard deviations, the contacts' scatter included: no copper
// reads so, the zero no longer holds.
bool voids(const plan::Measured& corrected, Ohms contact, double contact_spread);

}  // namespace isthmus::session
