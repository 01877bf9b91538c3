// SPDX-License-Identifier: Apache-2.0
#include "isthmus/session/zero.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "isthmus/session/session.hpp"
#include "session/requests.hpp"

namespace isthmus::session {
namespace {

using plan::Channel;

constexpr int kRepeats = 4;
constexpr double kMostOhms = 50;       // two poor switches; no lead has more. Common practice
constexpr double kMostVolts = 0.1;     // of its own, docs/adapter.md, Cautions
constexpr double kMostResidue = 0.02;  // ohms, beside the noise: a tip that moved changes more

Problem problem(Cause cause, std::string code, std::string message, std::string hint) {
  Problem p;
  p.cause = cause;
  p.code = std::move(code);
  p.message = std::move(message);
  p.hint = std::move(hint);
  return p;
}

struct Pair {
  Channel source{}, ret{};
  auto operator<=>(const Pair&) const = default;
};

adapter::Request request_for(const Pair& pair, int wires) {
  adapter::Request r;
  r.what = wires == 4 ? adapter::Measure::four_wire : adapter::Measure::resistance;
  r.closed = {{1, pair.source}, {2, pair.ret}};
  if (wires == 4) {
    r.closed.push_back({3, pair.source});
    r.closed.push_back({4, pair.ret});
  }
  return r;
}

class Taking {
 public:
  Taking(adapter::Instrument& instrument, std::string placement, std::vector<Channel> channels)
      : instrument_(instrument), placement_(std::move(placement)), channels_(std::move(channels)) {}

  Result<std::map<Channel, ChannelZero>> take() {
    if (auto quiet = no_voltage(); !quiet) return quiet.problem();
    const Channel hub = channels_[0];
    std::vector<Pair> pairs;
    for (std::size_t i = 1; i < channels_.size(); ++i) {
      pairs.push_back({hub, channels_[i]});
      pairs.push_back({channels_[i], hub});
      if (i + 1 < channels_.size()) pairs.push_back({channels_[i], channels_[i + 1]});
    }
    if (auto measured = measure(pairs); !measured) return measured.problem();
    std::map<Channel, ChannelZero> zero;
    const bool two = channels_.size() == 2;
    const double loop = two ? mean({hub, channels_[1]})
                            : mean({hub, channels_[2]}) + mean({channels_[1], hub}) -
                                  mean({channels_[1], channels_[2]});
    zero[hub] = {loop, 0};
    for (std::size_t i = 1; i < channels_.size(); ++i) {
      const Channel c = channels_[i];
      zero[c] = {mean({c, hub}), mean({hub, c}) - loop};
    }
    if (auto adds_up = check(zero); !adds_up) return adds_up.problem();
    return zero;
  }
  [[nodiscard]] double uncertainty() const { return uncertainty_; }

 private:
  Result<Done> no_voltage() {
    adapter::Request r;
    r.what = adapter::Measure::voltage;
    r.tag = instrument_.next_tag();
    for (const Channel c : channels_) r.closed.push_back({c == channels_[0] ? 1 : 2, c});
    double volts = 0;
    auto done = instrument_.carry_out({&r, 1}, [&](std::size_t, const adapter::Answer& a) {
      volts = a.none || a.status != 0 ? INFINITY : a.value;
    });
    if (!done) return done;
    if (std::fabs(volts) <= kMostVolts) return Done{};
    return problem(
        Cause::bench, "SES-007",
        fmt::format("there are {:.2f} V of its own under placement {}", volts, placement_),
        "lay the tips on bare copper that is connected to nothing");
  }

  Result<Done> measure(const std::vector<Pair>& pairs) {
    const int wires = instrument_.capabilities().wires;
    std::vector<adapter::Request> requests;
    std::uint32_t tag = instrument_.next_tag();
    for (int i = 0; i < kRepeats; ++i) {
      for (const Pair& pair : pairs) {
        requests.push_back(request_for(pair, wires));
        requests.back().tag = tag++;
      }
    }
    std::optional<Pair> open;
    auto done = instrument_.carry_out(requests, [&](std::size_t n, const adapter::Answer& a) {
      const Pair pair = pairs[n % pairs.size()];
      if (a.over_range || a.none || a.status != 0 || a.value >= kMostOhms) open = pair;
      sums_[pair] += a.value;
      const auto [seen, first] = extremes_.try_emplace(pair, a.value, a.value);
      if (!first) {
        seen->second.first = std::min(seen->second.first, a.value);
        seen->second.second = std::max(seen->second.second, a.value);
      }
      uncertainty_ =
          std::max(uncertainty_, uncertainty_of(a.value, requests[n], instrument_.capabilities()));
    });
    if (!done) return done;
    uncertainty_ = 2 * uncertainty_ / std::sqrt(kRepeats);  // four means in a pair's zero
    if (!open) return Done{};
    return problem(Cause::bench, "SES-033",
                   fmt::format("channels {} and {} of placement {} do not conduct to each other",
                               open->source, open->ret, placement_),
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
      if (off <= kMostResidue + 5 * uncertainty_) continue;
      return problem(Cause::bench, "SES-033",
                     fmt::format("the leads of placement {} do not add up: channels {} and {} are "
                                 "{:.3f} ohm off",
                                 placement_, pair.source, pair.ret, off),
                     "a tip moved, or a switch is not what it was: take the zero again");
    }
    return Done{};
  }

  adapter::Instrument& instrument_;
  std::string placement_;
  std::vector<Channel> channels_;
  std::map<Pair, double> sums_;
  std::map<Pair, std::pair<double, double>> extremes_;  // of its repeats
  double uncertainty_{};
};

}  // namespace

Result<Zero> take_zero(const formats::FixtureFile& fixture, adapter::Instrument& instrument,
                       const Hooks& hooks) {
  Zero zero;
  zero.wires = instrument.capabilities().wires;
  for (const formats::PlacementEntry& entry : fixture.placements) {
    std::set<Channel> channels;
    plan::Placement placement{entry.name, entry.side, {}, {}};
    for (const auto& [channel, probe] : entry.probes) {
      for (const Channel c : {channel, probe.twin.value_or(channel)}) {
        if (!channels.insert(c).second) continue;
        placement.probes.push_back({c, {}, {}, {}, probe.side.value_or(entry.side), probe.clip});
      }
    }
    if (channels.size() < 2) continue;
    if (*channels.rbegin() > instrument.capabilities().channels) {
      return problem(Cause::input, "SES-001",
                     fmt::format("the fixture uses channel {}; the adapter has {}",
                                 *channels.rbegin(), instrument.capabilities().channels),
                     "make a fixture for this adapter");
    }
    if (hooks.interrupted && hooks.interrupted())
      return problem(Cause::interrupted, "SES-008", "stopped on request", "start again");
    if (auto laid = hooks.lay(placement); !laid) return laid.problem();
    Taking taking(instrument, entry.name, {channels.begin(), channels.end()});
    auto taken = taking.take();
    if (auto opened = instrument.open_all(); !opened) return opened.problem();
    if (!taken) return taken.problem();
    zero.placements[entry.name] = std::move(*taken);
    zero.uncertainty = std::max(zero.uncertainty, taking.uncertainty());
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
