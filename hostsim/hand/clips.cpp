// SPDX-License-Identifier: Apache-2.0
// What the person does with the clips, and what clips do by themselves.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "hostsim/hand/hand.hpp"

namespace isthmus::hostsim {
namespace {

constexpr int kClips = -2;  // owner of their steps
constexpr double kRattleSeconds = 0.04, kRattleShare = 0.25;
constexpr double kClipMm = 0.1;  // copper within this of its middle is gripped

// Whether an intermittent clip has lost its contact in that slot of time.
bool hangs_loose(std::uint64_t seed, formats::Channel channel, double slot) {
  return Random(seed, fmt::format("rattle:{}:{:.0f}", channel, slot)).chance(kRattleShare);
}

}  // namespace

// The next word of the program decides whether an answer is wanted: where needles go on at once
// they prove the clips, and nobody presses a key.
void Hand::on_clips(const Event& e, double now) {
  const long asked = ++asked_;
  for (auto& [index, n] : needles_) {
    forget(index);
    lift_at(index, now + paced(hand_.reaction_s));
  }
  const double done = fit(e.clips, e.remove, std::max(now + paced(hand_.reaction_s), busy_until_));
  agenda_.at(done + paced(hand_.reaction_s), kClips, [this, asked](double t) {
    if (asked_ == asked) say_now(t, "done");
  });
}

// All off that will be fitted, then one after the other; the time when the last one sits.
double Hand::fit(const std::vector<ClipEvent>& clips, const std::vector<formats::Channel>& remove,
                 double from) {
  Random random(seed_, fmt::format("clips:{}", ++fitted_));
  std::vector<ClipEvent> places = clips;
  const bool exchanged = random.uniform() < hand_.clip_exchanged;
  const double first = random.uniform(), second = random.uniform();
  if (exchanged && places.size() > 1) {
    const auto count = places.size();
    const auto a = static_cast<std::size_t>(first * static_cast<double>(count));
    const auto step = 1 + static_cast<std::size_t>(second * static_cast<double>(count - 1));
    std::swap(places[a].channel, places[(a + step) % count].channel);
  }
  agenda_.at(from, kClips, [this, clips, remove](double) {
    for (const formats::Channel c : remove) take_off_clip(c);
    for (const ClipEvent& clip : clips) take_off_clip(clip.channel);
  });
  double at = from;
  for (const ClipEvent& place : places) {
    at += paced(hand_.clip_s);
    agenda_.at(at, kClips, [this, place, clips](double t) {
      put_on(place.channel, place);
      log_.clip(t, place.channel, "on");
      for (const ClipEvent& w : clips) {
        if (w.channel == place.channel) clips_[w.channel].wanted = w;
      }
    });
  }
  busy_until_ = std::max(busy_until_, at);
  return at;
}

void Hand::put_on(formats::Channel channel, const ClipEvent& where) {
  Random random(seed_, fmt::format("clip:{}:{}", channel, ++fitted_));
  Clip clip;
  clip.wanted = where;
  const auto grip = [&](Side side) {
    const auto nodes = surface_.under({where.at, side}, kClipMm);
    const double ohm = contact_.ohm * random.between(1 - contact_.spread, 1 + contact_.spread);
    if (!nodes.empty()) clip.contacts.push_back({nodes.front(), ohm});
  };
  if (where.side != Side::bottom) grip(Side::top);
  if (where.side != Side::top) grip(Side::bottom);
  clip.rattles = random.uniform() < hand_.clip_intermittent;
  clip.sits = clip.conducts = true;
  clips_[channel] = clip;
  changed_ = true;
}

void Hand::take_off_clip(formats::Channel channel) {
  if (clips_.erase(channel) > 0) changed_ = true;
}

void Hand::maybe_drop_a_clip(const Fate& fate, double now) {
  const auto drops = [&](formats::Channel channel) {
    agenda_.at(now + fate.clip_after_s, kClips, [this, channel](double t) {
      const auto clip = clips_.find(channel);
      if (clip == clips_.end() || !clip->second.sits) return;
      log_.clip(t, channel, "fell");
      clip->second.sits = clip->second.conducts = false;
      changed_ = true;
    });
  };
  for (const auto& [landing, channel] : hand_.clip_falls_after) {
    if (landing == landings_) drops(channel);
  }
  const double minutes = (now - last_landing_) / 60;
  const double chance = 1 - std::exp(-hand_.clip_falls_per_min * minutes);
  if (clips_.empty() || fate.clip_chance >= chance) return;
  const auto which = static_cast<long>(fate.clip_which * static_cast<double>(clips_.size()));
  drops(std::next(clips_.begin(), which)->first);
}

void Hand::rattle(double seconds) {
  const double slot = std::floor(seconds / kRattleSeconds);
  for (auto& [channel, clip] : clips_) {
    if (!clip.rattles || !clip.sits) continue;
    const bool conducts = !hangs_loose(seed_, channel, slot);
    changed_ = changed_ || conducts != clip.conducts;
    clip.conducts = conducts;
  }
}

double Hand::next_change() const {
  const bool rattles = std::any_of(clips_.begin(), clips_.end(),
                                   [](const auto& c) { return c.second.rattles && c.second.sits; });
  if (!rattles) return agenda_.next();
  return std::min(agenda_.next(), kRattleSeconds * (std::floor(now_ / kRattleSeconds) + 1));
}

// Lost: put back on, needles aside. Exchanged, or found on another channel: "take it so", and each
// belongs from then on where it was found.
void Hand::on_clip(const Event& e, double now) {
  const auto clip = clips_.find(e.channel);
  if (e.what == "lost" && clip != clips_.end()) {
    ++asked_;
    std::vector<std::size_t> waiting;
    for (auto& [index, n] : needles_) {
      forget_plans(index);
      lift_at(index, now + paced(hand_.reaction_s));
      if (n.target) waiting.push_back(index);
    }
    fit({clip->second.wanted}, {}, std::max(now + paced(hand_.reaction_s), busy_until_));
    for (const std::size_t index : waiting) go(index, now);
  }
  if (e.what != "exchanged" && e.what != "found-on") return;
  const auto other = e.with ? clips_.find(*e.with) : clips_.end();
  if (clip != clips_.end() && other != clips_.end()) {
    std::swap(clip->second.wanted, other->second.wanted);
    std::swap(clip->second.wanted.channel, other->second.wanted.channel);
  }
  say(now + paced(hand_.reaction_s), "done");
}

}  // namespace isthmus::hostsim
