// SPDX-License-Identifier: Apache-2.0
#include "isthmus/session/zero.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "isthmus/plan/step_maker.hpp"
#include "isthmus/session/session.hpp"
#include "session/air.hpp"
#include "session/loop.hpp"
#include "session/problems.hpp"

namespace isthmus::session {
namespace {

using plan::Channel;

constexpr std::size_t kRepeats = 4;
constexpr double kMostOhms = 50;       // two poor switches; no lead has more. Common practice
constexpr double kMostResidue = 0.02;  // ohms, beside the noise: a tip that moved changes more

struct Pair {
  Channel source{}, ret{};
  auto operator<=>(const Pair&) const = default;
};

// What is known of the leads and switches of one placement.
class Leads final : public Knowing {
 public:
  Leads(std::string placement, std::vector<Channel> channels)
      : placement_(std::move(placement)), channels_(std::move(channels)) {}

  // No voltage first, then every pair as often as is wanted.
  std::vector<plan::Step> next() override {
    const plan::StepMaker make({}, false, 0);
    std::vector<plan::Step> steps;
    if (round_ == 0)
      steps = {make.board_voltage({hub()}, {channels_.begin() + 1, channels_.end()})};
    if (round_ > 0 && round_ <= kRepeats) {
      for (const Pair& pair : pairs()) steps.push_back(make.resistance(pair.source, pair.ret));
    }
    ++round_;
    return steps;
  }

  Result<Done> take(const plan::Step& step, const plan::Reading& reading) override {
    const auto* measured = std::get_if<plan::Measured>(&reading.outcome);
    if (reading.status != 0) measured = nullptr;
    if (step.kind == plan::StepKind::board_voltage)
      return judge_voltage(measured ? measured->value : INFINITY);
    const Pair pair{step.source.at(0), step.ret.at(0)};
    if (!measured || measured->value >= kMostOhms) {
      open_ = pair;
      return Done{};
    }
    sums_[pair] += measured->value;
    uncertainty_ = std::max(uncertainty_, measured->uncertainty);
    const auto [seen, first] = extremes_.try_emplace(pair, measured->value, measured->value);
    if (!first) {
      seen->second.first = std::min(seen->second.first, measured->value);
      seen->second.second = std::max(seen->second.second, measured->value);
    }
    return Done{};
  }

  // After all rounds.
  [[nodiscard]] Result<std::map<Channel, ChannelZero>> zero() const {
    if (open_) return does_not_conduct(*open_);
    std::map<Channel, ChannelZero> zero;
    const bool two = channels_.size() == 2;
    const double loop = two ? mean({hub(), channels_[1]})
                            : mean({hub(), channels_[2]}) + mean({channels_[1], hub()}) -
                                  mean({channels_[1], channels_[2]});
    zero[hub()] = {loop, 0};
    for (std::size_t i = 1; i < channels_.size(); ++i) {
      const Channel c = channels_[i];
      zero[c] = {mean({c, hub()}), mean({hub(), c}) - loop};
    }
    if (auto adds_up = check(zero); !adds_up) return adds_up.problem();
    return zero;
  }
  [[nodiscard]] double uncertainty() const {
    return 2 * uncertainty_ / std::sqrt(kRepeats);  // four means in a pair's zero
  }

 private:
  [[nodiscard]] Channel hub() const { return channels_[0]; }

  // Every channel through rows 1 and 2 against the hub, and neighbours against each other.
  [[nodiscard]] std::vector<Pair> pairs() const {
    std::vector<Pair> pairs;
    for (std::size_t i = 1; i < channels_.size(); ++i) {
      pairs.push_back({hub(), channels_[i]});
      pairs.push_back({channels_[i], hub()});
      if (i + 1 < channels_.size()) pairs.push_back({channels_[i], channels_[i + 1]});
    }
    return pairs;
  }

  [[nodiscard]] Result<Done> judge_voltage(double volts) const {
    if (std::fabs(volts) <= kMostBoardVolts) return Done{};
    return because(
        Cause::bench, "SES-007",
        fmt::format("there are {:.2f} V of its own under placement {}", volts, placement_),
        "lay the tips on bare copper that is connected to nothing");
  }

  [[nodiscard]] Problem does_not_conduct(const Pair& pair) const {
    return because(Cause::bench, "SES-033",
                   fmt::format("channels {} and {} of placement {} do not conduct to each other",
                               pair.source, pair.ret, placement_),
                   "press all its tips on one piece of bare, bright copper; then look at these two "
                   "leads and switches");
  }

  [[nodiscard]] double mean(const Pair& pair) const { return sums_.at(pair) / kRepeats; }

  // Leads and switches stay what they are, and add; a contact that changed in between does not.
  [[nodiscard]] Result<Done> check(const std::map<Channel, ChannelZero>& zero) const {
    for (const auto& [pair, sum] : sums_) {
      const auto [least, most] = extremes_.at(pair);
      const double residue = mean(pair) - zero.at(pair.source).row1 - zero.at(pair.ret).row2;
      const double off = std::max(most - least, std::fabs(residue));
      if (off <= kMostResidue + 5 * uncertainty()) continue;
      return because(Cause::bench, "SES-033",
                     fmt::format("the leads of placement {} do not add up: channels {} and {} are "
                                 "{:.3f} ohm off",
                                 placement_, pair.source, pair.ret, off),
                     "a tip moved, or a switch is not what it was: take the zero again");
    }
    return Done{};
  }

  std::string placement_;
  std::vector<Channel> channels_;
  std::size_t round_{};
  std::optional<Pair> open_;
  std::map<Pair, double> sums_;
  std::map<Pair, std::pair<double, double>> extremes_;  // of its repeats
  double uncertainty_{};
};

// The channels of a placement, as probes for whoever lays them.
plan::Placement tips_of(const formats::PlacementEntry& entry) {
  plan::Placement placement{entry.name, entry.side, {}, {}};
  std::set<Channel> channels;
  for (const auto& [channel, probe] : entry.probes) {
    for (const Channel c : {channel, probe.twin.value_or(channel)}) {
      if (channels.insert(c).second)
        placement.probes.push_back({c, {}, {}, {}, probe.side.value_or(entry.side), probe.clip});
    }
  }
  return placement;
}

// Which channels are of one net is not known here: each two are asked.
Result<Done> try_in_air(const plan::Placement& placement, adapter::Instrument& instrument,
                        const Hooks& hooks, const MeasurerSetup& setup, Zero& zero) {
  if (!hooks.lift) return Done{};
  auto lifted = hooks.lift(placement);
  if (!lifted) return lifted.problem();
  if (*lifted == Lifted::none) return Done{};
  Hanging hanging;
  hanging.contact_check = instrument.capabilities().contact_check;
  for (const plan::Probe& p : placement.probes) hanging.channels.insert(p.channel);
  hanging.together = {hanging.channels};
  auto tried = session::try_in_air(instrument, setup, std::move(hanging),
                                   [](Channel c) { return std::to_string(c); });
  if (tried) zero.in_air.insert(placement.name);
  return tried;
}

Result<Done> take_one(const plan::Placement& placement, adapter::Instrument& instrument,
                      const Hooks& hooks, Zero& zero) {
  std::vector<Channel> channels;
  for (const plan::Probe& p : placement.probes) channels.push_back(p.channel);
  std::ranges::sort(channels);
  if (channels.back() > instrument.capabilities().channels) {
    return because(Cause::input, "SES-001",
                   fmt::format("the fixture uses channel {}; the adapter has {}", channels.back(),
                               instrument.capabilities().channels),
                   "make a fixture for this adapter");
  }
  MeasurerSetup setup;
  setup.wires = instrument.capabilities().wires;
  setup.interrupted = hooks.interrupted;
  Measurer measurer(instrument, setup);
  if (hooks.interrupted && hooks.interrupted()) return stopped_on_request();
  if (auto tried = try_in_air(placement, instrument, hooks, setup, zero); !tried) return tried;
  if (auto laid = hooks.lay(placement, [] {}); !laid) return laid;
  Leads leads(placement.name, std::move(channels));
  measure_what_is_wanted(measurer, leads);
  if (auto opened = instrument.open_all(); !opened) return opened;
  if (const Ending& why = measurer.ending(); why.any())
    return why.link_failure ? *why.link_failure : *why.stopped;
  auto taken = leads.zero();
  if (!taken) return taken.problem();
  zero.placements[placement.name] = std::move(*taken);
  zero.uncertainty = std::max(zero.uncertainty, leads.uncertainty());
  return Done{};
}

}  // namespace

Result<Zero> take_zero(const formats::FixtureFile& fixture, adapter::Instrument& instrument,
                       const Hooks& hooks) {
  Zero zero;
  zero.wires = instrument.capabilities().wires;
  for (const formats::PlacementEntry& entry : fixture.placements) {
    const plan::Placement placement = tips_of(entry);
    if (placement.probes.size() < 2) continue;
    if (auto taken = take_one(placement, instrument, hooks, zero); !taken) return taken.problem();
  }
  return zero;
}

std::optional<double> ohms_of(const Zero& zero, const std::string& placement, Channel source,
                              Channel ret) {
  const auto p = zero.placements.find(placement);
  if (p == zero.placements.end()) return std::nullopt;
  const auto a = p->second.find(source), b = p->second.find(ret);
  if (a == p->second.end() || b == p->second.end()) return std::nullopt;
  return a->second.row1 + b->second.row2;
}

plan::Measured zeroed(const plan::Measured& raw, double ohms, const Zero& zero, Ohms contact) {
  return {raw.value - ohms + 2 * contact.value, std::hypot(raw.uncertainty, zero.uncertainty)};
}

bool voids(const plan::Measured& corrected, Ohms contact, double contact_spread) {
  const double scatter = std::sqrt(2.0) * contact.value * contact_spread;
  return corrected.value < -3 * std::hypot(corrected.uncertainty, scatter);
}

}  // namespace isthmus::session
