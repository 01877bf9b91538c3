// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "tests/random_boards/bench.hpp"

namespace isthmus::random_boards {
namespace {

using formats::Channel;

class Author {
 public:
  Author(BenchKind kind, std::uint64_t seed, const plan::Plan& plan) : plan_(plan), rng_(seed) {
    out_.kind = kind;
    out_.contact = rng_.real(0.02, 0.08);
    out_.spread = 0.5;
    if (rng_.chance(0.5)) out_.excess = 0.2;  // as import writes
    for (std::size_t p = 0; p < plan.placements.size(); ++p) {
      for (const plan::Probe& probe : plan.placements[p].probes) {
        tips_.push_back({p, probe.channel});
        if (probe.twin) tips_.push_back({p, *probe.twin});
      }
    }
    for (const Tip& t : tips_) channels_.insert(t.second);
  }

  BenchSetup poor() {
    const int first = rng_.between(0, 5);
    poorer(first);
    if (rng_.chance(0.3)) poorer((first + rng_.between(1, 5)) % 6);
    return out_;
  }

  BenchSetup faulty() {
    switch (rng_.between(0, 9)) {
      case 0:
        return pulls_in();
      case 1:
        out_.times_out = static_cast<std::size_t>(rng_.between(3, 6));
        say("timeout", fmt::format("the converter times out from {} switches on", out_.times_out));
        break;
      case 2:
        for (int i = rng_.between(1, 3); i > 0; --i)
          out_.stale.insert(rng_.below(2 * plan_.steps.size()));
        say("stale", "stale readings");
        break;
      case 3:
        out_.check_always = true;
        out_.tried_in_air = false;  // where such a run ends before it begins
        out_.missing.insert(tip());
        say("always", "the contact check always says yes, and a tip is lifted");
        break;
      case 4:
        out_.sense_stuck = channel();
        say("sense",
            fmt::format("the sense switch of channel {} is stuck open", *out_.sense_stuck));
        break;
      case 5:
        out_.clips = rng_.real(0.5, 5);
        say("clips", fmt::format("the four-wire stage clips at {:.1f} ohm", out_.clips));
        break;
      case 6:
        wires();
        break;
      case 7:
        swap();
        break;
      case 8:
        out_.drops = tip();
        say("drops", fmt::format("channel {} loses contact under voltage", out_.drops->second));
        break;
      default:
        out_.dead_source = true;
        say("dead", "the source of the isolation meter is dead");
    }
    return out_;
  }

 private:
  void say(const std::string& sort, const std::string& words) {
    out_.sort += (out_.sort.empty() ? "" : "+") + sort;
    out_.words += (out_.words.empty() ? "" : ", ") + words;
  }
  const Tip& tip() { return rng_.pick(tips_); }
  Channel channel() { return tip().second; }

  void poorer(int kind) {
    switch (kind) {
      case 0:
        for (int i = rng_.between(1, 3); i > 0; --i) out_.tarnish[tip()] = rng_.real(1.5, 15);
        {
          std::string words;
          for (const auto& [t, ohms] : out_.tarnish)
            words += fmt::format("{}channel {} on tarnish, {:.1f} ohm", words.empty() ? "" : ", ",
                                 t.second, ohms);
          say("tarnish", words);
        }
        return;
      case 1:
        out_.contact = 0.15;
        say("contacts", "contacts of 0.15 ohm");
        return;
      case 2:
        for (int i = rng_.between(1, 2); i > 0; --i) out_.missing.insert(tip());
        say("miss", "a tip that touches nothing");
        return;
      case 3:
        out_.noise = rng_.real(0.0005, 0.01);
        out_.spoilt = rng_.real(0, 0.02);
        say("noise", fmt::format("{:.1f} mohm of noise, {:.1f} % spoilt", out_.noise * 1e3,
                                 out_.spoilt * 100));
        return;
      case 4:
        out_.late[tip()] = rng_.between(2, 80);
        say("late", "a tip that lands late");
        return;
      default:
        out_.stated_um = rng_.pick(std::vector<double>{18, 70, 1000});
        say("foil", fmt::format("a foil of 35 um stated as {}", out_.stated_um));
    }
  }

  BenchSetup pulls_in() {
    out_.pulls_in = static_cast<std::size_t>(rng_.between(3, 8));
    if (rng_.chance(0.5)) {
      for (int i = rng_.between(1, 3); i > 0; --i) out_.weak.insert(channel());
    }
    say("pullin", fmt::format("{} switches pull in{}", out_.pulls_in,
                              out_.weak.empty() ? "" : ", else the weak ones drop out"));
    return out_;
  }

  std::pair<Channel, Channel> two() {
    if (channels_.size() < 2) return {1, 2};
    Channel a = channel(), b = channel();
    while (a == b) b = channel();
    return std::minmax(a, b);
  }
  void wires() {
    const auto pair = two();
    out_.wires.insert(pair);
    // Untried, two wires of one net look like copper, and those of two lone pads like a bridge.
    out_.tried_in_air = rng_.chance(0.5);
    out_.known = !out_.tried_in_air;
    say(out_.tried_in_air ? "wires" : "untried wires",
        fmt::format("wires {} and {} touch", pair.first, pair.second));
  }
  // A pad of its own answers under any wire: docs/random-boards.md.
  void swap() {
    out_.swap = two();
    out_.known = true;
    say("swap", fmt::format("wires {} and {} exchanged", out_.swap->first, out_.swap->second));
  }

  const plan::Plan& plan_;
  Rng rng_;
  BenchSetup out_;
  std::vector<Tip> tips_;
  std::set<Channel> channels_;
};

}  // namespace

BenchSetup draw_bench(BenchKind kind, std::uint64_t seed, const plan::Plan& plan) {
  if (kind == BenchKind::ideal) return {};
  Author author(kind, seed * 2654435761U + 17, plan);
  return kind == BenchKind::poor ? author.poor() : author.faulty();
}

}  // namespace isthmus::random_boards
