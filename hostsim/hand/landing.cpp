// SPDX-License-Identifier: Apache-2.0
#include "hostsim/hand/landing.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace isthmus::hostsim {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kNeighbourMm = 3;    // a wrong pad lies no farther away
constexpr double kSamePadMm = 0.05;   // nearer is the pad itself
constexpr std::size_t kContacts = 6;  // two tips on three pieces of copper
constexpr double kMissStepMm = 0.05, kMissMostMm = 3;
constexpr double kFingersMm = 2;  // copper within this of a finger's middle is touched

double drawn_ohm(const Range& range, Random& random) {
  return std::exp(random.between(std::log(range.low), std::log(range.high)));
}

std::vector<Bounce> draw_bounces(double seconds, Random& random) {
  constexpr int kTimes = 4;
  std::vector<Bounce> bounces;
  for (int i = 0; i < kTimes; ++i) {
    const double slot = seconds / kTimes;
    const double off = random.between(0.05, 0.5), on = random.between(0.55, 0.95);
    bounces.push_back({(i + off) * slot, (i + on) * slot});
  }
  return bounces;
}

// Each draw takes place whatever the chance: a key changed moves no other draw.
Fate draw_accidents(const HandDraw& hand, Random& random) {
  const auto happens = [&random](double chance) { return random.uniform() < chance; };
  Fate f;
  f.aim_x = std::clamp(random.normal(), -2.0, 2.0);
  f.aim_y = std::clamp(random.normal(), -2.0, 2.0);
  const bool wrong = happens(hand.wrong_pad);
  const double which = random.uniform();
  if (wrong) f.wrong_pad = which;
  const bool misses = happens(hand.miss);
  const double angle = random.between(0, 2 * kPi);
  if (misses) f.miss_angle = angle;
  const bool bounces = happens(hand.bounce);
  const auto bounced = draw_bounces(hand.bounce_ms * 1e-3, random);
  if (bounces) f.bounces = bounced;
  const bool slips = happens(hand.slip);
  const Fate::Slip slip{random.between(0.02, 0.6), random.between(0, 2 * kPi),
                        random.between(0.3, 0.8)};
  if (slips) f.slip = slip;
  const bool lifts = happens(hand.early_lift);
  const double lift = random.between(0.03, 0.6);
  if (lifts) f.lifts_after_s = lift;
  f.straddles = happens(hand.straddle);
  return f;
}

}  // namespace

Fate draw_fate(const HandDraw& hand, const ContactDraw& contact, Random& random) {
  Fate f = draw_accidents(hand, random);
  const bool dull = random.uniform() < hand.tarnish;
  const double tarnish = drawn_ohm(hand.tarnish_ohm, random);
  if (dull) f.tarnish_ohm = tarnish;
  const bool bare = random.uniform() < hand.skin;
  const Fate::Fingers fingers{random.between(0, 2 * kPi), random.between(3, 12),
                              1e6 * drawn_ohm(hand.skin_mohm, random)};
  if (bare) f.fingers = fingers;
  f.clip_chance = random.uniform();
  f.clip_which = random.uniform();
  f.clip_after_s = random.between(0.0, 0.6);
  for (std::size_t i = 0; i < kContacts; ++i) {
    f.contact_ohm.push_back(contact.ohm * random.between(1 - contact.spread, 1 + contact.spread));
  }
  return f;
}

Place moved_by(const Place& from, double angle, double mm) {
  return {{from.at.x + std::llround(1e6 * mm * std::cos(angle)),
           from.at.y + std::llround(1e6 * mm * std::sin(angle))},
          from.side};
}

Place landing_place(const Surface& surface, const HandDraw& hand, const Fate& fate, Place target) {
  if (fate.wrong_pad) {
    std::vector<Position> pads = surface.pads(target, kNeighbourMm);
    std::erase_if(pads, [&](Position p) { return distance_nm(p, target.at) < kSamePadMm * 1e6; });
    const auto likely = std::min<std::size_t>(pads.size(), 2);
    if (likely > 0)
      target.at = pads[static_cast<std::size_t>(*fate.wrong_pad * static_cast<double>(likely))];
  }
  target.at.x += std::llround(1e6 * hand.aim_mm * fate.aim_x);
  target.at.y += std::llround(1e6 * hand.aim_mm * fate.aim_y);
  if (!fate.miss_angle) return target;
  for (double mm = kMissStepMm; mm < kMissMostMm; mm += kMissStepMm) {
    const Place beside = moved_by(target, *fate.miss_angle, mm);
    if (surface.under(beside, hand.tip_mm / 2).empty()) return beside;
  }
  return target;
}

namespace {

// A direction in which both tips meet the copper under the middle, if there is one: of these the
// one with most copper beyond.
double along_the_pad(const Surface& surface, const BoardGraph& graph, const HandDraw& hand,
                     const Place& at) {
  constexpr int kDirections = 8;
  const auto middle = surface.under(at, hand.tip_mm / 2);
  if (middle.empty()) return 0;
  const int copper = graph.network.conductor_of(middle.front());
  double best = 0;
  int most = -1;
  for (int d = 0; d < kDirections; ++d) {
    const double angle = d * kPi / kDirections;
    int reached = 0;
    for (const double mm : {0.5 * hand.fork_mm, 0.75 * hand.fork_mm, hand.fork_mm}) {
      for (const double sign : {-1.0, 1.0}) {
        const auto nodes = surface.under(moved_by(at, angle, sign * mm), hand.tip_mm / 2);
        const bool same = !nodes.empty() && graph.network.conductor_of(nodes.front()) == copper;
        reached += same ? 1 : 0;
      }
    }
    if (reached <= most) continue;
    most = reached;
    best = angle;
  }
  return best;
}

}  // namespace

std::vector<std::vector<Contact>> contacts_at(const Surface& surface, const BoardGraph& graph,
                                              const HandDraw& hand, const Fate& fate,
                                              const Place& at, bool forked) {
  std::vector<Place> tips{at};
  if (forked) {
    const double angle = along_the_pad(surface, graph, hand, at);
    tips = {moved_by(at, angle, -hand.fork_mm / 2), moved_by(at, angle, hand.fork_mm / 2)};
  }
  std::vector<std::vector<Contact>> contacts;
  std::size_t drawn = 0;
  for (const Place& tip : tips) {
    std::vector<Node> nodes = surface.under(tip, hand.tip_mm / 2);
    if (fate.straddles && !nodes.empty()) nodes = surface.under(tip, hand.straddle_mm);
    if (nodes.size() > 2) nodes.resize(2);
    contacts.emplace_back();
    for (const Node n : nodes) {
      const double ohm = fate.contact_ohm[std::min(drawn++, fate.contact_ohm.size() - 1)];
      contacts.back().push_back({n, ohm + fate.tarnish_ohm});
    }
  }
  return contacts;
}

std::optional<Node> under_fingers(const Surface& surface, const BoardGraph& graph,
                                  const Fate::Fingers& fingers, const Place& at, Node needle) {
  for (const Node n : surface.under(moved_by(at, fingers.angle, fingers.mm), kFingersMm)) {
    if (graph.network.conductor_of(n) != graph.network.conductor_of(needle)) return n;
  }
  return std::nullopt;
}

}  // namespace isthmus::hostsim
