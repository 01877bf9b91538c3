// SPDX-License-Identifier: Apache-2.0
#include "hostsim/hand/held.hpp"

#include "hostsim/scenario/terminals.hpp"

namespace isthmus::hostsim {
namespace {

class Assembly {
 public:
  Assembly(const BoardGraph& graph, int channels)
      : graph_(graph), channels_(channels), terminals_(graph.network) {
    laid_.tips.resize(static_cast<std::size_t>(channels));
  }

  void add(const HeldTip& t) {
    if (t.contacts.empty() || t.channel < 1 || t.channel > channels_) return;
    tip(t.channel) = {terminals_.at(t.contacts[0].node), t.contacts[0].ohm, t.hum_v, t.farad};
    if (t.contacts.size() == 1) return;
    Metal& metal = metals_.emplace_back();
    metal.channel = t.channel;
    for (const Contact& c : t.contacts) {
      metal.ends.push_back({terminals_.at(c.node), c.ohm});
      metal.farad += graph_.farad[static_cast<std::size_t>(graph_.network.conductor_of(c.node))];
    }
  }

  void add(const Skin& s) { fingers_.push_back({s.channel, {terminals_.at(s.node), s.ohm}}); }

  Laid run(Solved& solved) {
    hang_on(graph_, terminals_, laid_);
    laid_.conductors = terminals_.reduce(solved, graph_.farad);
    for (const Metal& metal : metals_) join(metal);
    for (const Finger& f : fingers_) {
      const Terminal at = tip(f.channel).at;
      if (at.conductor >= 0) laid_.ties.push_back({at, f.end.at, f.end.ohm});
    }
    return std::move(laid_);
  }

 private:
  struct End {
    Terminal at;
    double ohm{};
  };
  struct Metal {  // of a tip that stands on several pieces of copper
    formats::Channel channel{};
    std::vector<End> ends;
    double farad{};
  };
  struct Finger {
    formats::Channel channel{};
    End end;
  };

  Tip& tip(formats::Channel c) { return laid_.tips[static_cast<std::size_t>(c - 1)]; }

  // The metal is a conductor of its own, after those of the board.
  void join(const Metal& metal) {
    const Terminal own{static_cast<int>(laid_.conductors.size()), 0};
    laid_.conductors.push_back({1, {0.0}, metal.farad});
    tip(metal.channel).at = own;
    tip(metal.channel).ohm = 0;
    for (const End& e : metal.ends) laid_.ties.push_back({own, e.at, e.ohm});
  }

  const BoardGraph& graph_;
  int channels_;
  Terminals terminals_;
  Laid laid_;
  std::vector<Metal> metals_;
  std::vector<Finger> fingers_;
};

}  // namespace

Laid lay_held(const BoardGraph& graph, Solved& solved, const std::vector<HeldTip>& tips,
              const std::vector<Skin>& skins, int channels) {
  Assembly assembly(graph, channels);
  for (const HeldTip& t : tips) assembly.add(t);
  for (const Skin& s : skins) assembly.add(s);
  return assembly.run(solved);
}

}  // namespace isthmus::hostsim
