// SPDX-License-Identifier: Apache-2.0
#include "hostsim/hand/hand.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace isthmus::hostsim {
namespace {

constexpr int kNobody = -1;  // owner of steps that are of no needle

}  // namespace

Hand::Hand(const Scenario& scenario, Surface& surface, Answer answer)
    : hand_(scenario.hand),
      contact_(scenario.contact),
      seed_(scenario.seed),
      channels_(scenario.channels),
      surface_(surface),
      solved_(surface.graph().network),
      answer_(std::move(answer)),
      log_(scenario.hand.log) {}

bool Hand::hear(std::string_view line, double now) {
  const auto event = read_event(line);
  if (!event) return false;
  pass(now);
  if (!at_work_) changed_ = true;
  at_work_ = true;
  const std::string& kind = event->kind;
  if (kind == "start") on_start(*event, now);
  if (kind == "air") on_air(now);
  if (kind == "clips") on_clips(*event, now);
  if (kind == "touch") on_touch(event->touch, now);
  if (kind == "lift") {
    const std::size_t index = event->touch.needle;
    forget(index);
    lift_at(index, now + paced(hand_.reaction_s));
  }
  if (kind == "landed" || kind == "booked" || kind == "wrong" || kind == "lost")
    on_told(*event, now);
  if (kind == "clip") on_clip(*event, now);
  if (kind == "pause") on_pause(now);
  if (kind == "offer") say(now + paced(hand_.reaction_s), "done");  // nobody mends here
  if (kind == "end") on_end(now);
  return true;
}

// Clips stay where they are: it may be the next morning.
void Hand::on_start(const Event& e, double now) {
  agenda_.clear();
  lift_all();
  needles_.clear();
  for (std::size_t i = 0; i < e.needles.size(); ++i) needles_[i].tips = e.needles[i];
  busy_until_ = last_landing_ = now;
}

void Hand::lift_all() {
  for (auto& [index, n] : needles_) lift(index);
}

void Hand::drop_all() {
  lift_all();
  clips_.clear();
  changed_ = true;
}

void Hand::take_off(double now) {
  pass(now);
  agenda_.clear();
  drop_all();
}

void Hand::on_air(double now) {
  ++asked_;
  agenda_.clear();
  const double hangs = now + paced(hand_.reaction_s);
  busy_until_ = hangs;
  agenda_.at(hangs, kNobody, [this](double) { drop_all(); });
  say(hangs, "done");
}

// Said by the person of its own accord: the program may have gone on meanwhile.
void Hand::on_pause(double now) {
  ++asked_;
  agenda_.clear();
  for (auto& [index, n] : needles_) n.target.reset();
  agenda_.at(now + paced(hand_.reaction_s), kNobody, [this](double) { lift_all(); });
  say(now + paced(hand_.pause_s), "resume");
}

void Hand::on_end(double now) {
  agenda_.clear();
  agenda_.at(now + paced(hand_.reaction_s), kNobody, [this](double) { lift_all(); });
}

void Hand::say(double seconds, std::string_view word) {
  agenda_.at(seconds, kNobody, [this, said = std::string(word)](double t) { say_now(t, said); });
}

void Hand::say_now(double seconds, std::string_view word) {
  log_.answered(seconds, word);
  answer_(word);
}

void Hand::pass(double now) {
  now_ = std::max(now_, now);
  agenda_.run_until(now_);
  rattle(now_);
}

const Laid* Hand::moved(double seconds) {
  pass(seconds);
  if (!changed_) return nullptr;
  changed_ = false;
  lay();
  return &laid_;
}

void Hand::lay() {
  std::vector<HeldTip> tips;
  std::vector<Skin> skins;
  for (const auto& [channel, clip] : clips_) {
    if (clip.conducts) tips.push_back({channel, clip.contacts});
  }
  for (const auto& held : needles_) {
    const auto& n = held.second;
    if (!n.down) continue;
    const auto tip = [&](formats::Channel c, std::size_t i) {
      if (i < n.contacts.size()) tips.push_back({c, n.contacts[i], hand_.hum_v, hand_.farad});
    };
    tip(n.tips.channel, 0);
    if (n.tips.fork) tip(*n.tips.fork, 1);
    if (n.skin) skins.push_back(*n.skin);
  }
  laid_ = lay_held(surface_.graph(), solved_, tips, skins, channels_);
}

}  // namespace isthmus::hostsim
