// SPDX-License-Identifier: Apache-2.0
// What the person does with the needles.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "hostsim/hand/hand.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kReadPatience = 4;  // times as long, once the landing was noticed

constexpr double kGoneOnAfter = 0.5;  // a single needle is lifted when nothing more is wanted of it

// Two kinds of steps a needle: what the person means to do, and what happens to them.
int meant_by(std::size_t index) { return 2 * static_cast<int>(index); }
int befalls(std::size_t index) { return 2 * static_cast<int>(index) + 1; }

}  // namespace

Hand::Needle& Hand::needle(std::size_t index) { return needles_[index]; }

// The other needle stays where it is.
void Hand::on_touch(const TouchEvent& t, double now) {
  ++asked_;
  Needle& n = needle(t.needle);
  if (!n.target || n.target->touch != t.touch) n.tries = 0;
  n.tips = t.tips;
  n.target = t;
  n.leaves = false;
  go(t.needle, now);
}

double Hand::seconds_to(const Needle& n, const TouchEvent& t) const {
  const Place goal{t.at, t.side == Side::both ? up_ : t.side};
  double seconds = hand_.touch_s + distance_nm(n.at.at, t.at) * 1e-6 / hand_.speed_mm_per_s;
  if (t.turn_over || goal.side != up_) seconds += hand_.turn_over_s;
  const auto near = surface_.pads(goal, hand_.fine_mm);
  if (near.size() > 1) seconds += hand_.fine_s;
  return paced(seconds);
}

void Hand::go(std::size_t index, double now) {
  Needle& n = needle(index);
  forget_plans(index);
  const double begin = std::max(now + paced(hand_.reaction_s), busy_until_);
  const double arrives = begin + seconds_to(n, *n.target);
  busy_until_ = arrives;
  // Whatever is done before, clips perhaps: nobody leaves the needle standing on the last pad.
  lift_at(index, std::min(begin, now + paced(hand_.reaction_s)));
  agenda_.at(arrives, meant_by(index), [this, index](double t) { land(index, t); });
}

void Hand::forget_plans(std::size_t index) {
  agenda_.cancel(meant_by(index));
  agenda_.cancel(befalls(index));
}

void Hand::forget(std::size_t index) {
  forget_plans(index);
  needle(index).target.reset();
}

void Hand::lift_at(std::size_t index, double seconds) {
  agenda_.at(seconds, meant_by(index), [this, index](double) { lift(index); });
}

void Hand::lift(std::size_t index) {
  Needle& n = needle(index);
  changed_ = changed_ || n.down;
  n.down = false;
  n.skin.reset();
}

void Hand::land(std::size_t index, double now) {
  Needle& n = needle(index);
  ++n.tries;
  n.leaves = false;
  Random random(seed_, fmt::format("landing:{}", ++landings_));
  n.fate = draw_fate(hand_, contact_, random);
  if (n.target->side != Side::both) up_ = n.target->side;
  n.at = landing_place(surface_, hand_, n.fate, {n.target->at, up_});
  stand(n);
  log_.landed(now, landings_, *n.target, n.at, n.fate, !n.contacts[0].empty());
  plan_accidents(index, now);
  maybe_drop_a_clip(n.fate, now);
  last_landing_ = now;
  if (n.target->noticed) wait_for_word(index, now + paced(hand_.patience_s));
}

void Hand::stand(Needle& n) {
  BoardGraph& graph = surface_.graph();
  n.contacts = contacts_at(surface_, graph, hand_, n.fate, n.at, n.tips.fork.has_value());
  n.skin.reset();
  const bool fingers_off = n.target && n.target->why == "fingers-off";
  if (n.fate.fingers && !fingers_off && !n.contacts[0].empty()) {
    const auto copper =
        under_fingers(surface_, graph, *n.fate.fingers, n.at, n.contacts[0][0].node);
    if (copper) n.skin = Skin{n.tips.channel, *copper, n.fate.fingers->ohm};
  }
  n.down = true;
  changed_ = true;
}

void Hand::plan_accidents(std::size_t index, double now) {
  const int owner = befalls(index);
  const Fate& fate = needle(index).fate;
  const auto set_down = [this, index](bool down) {
    return [this, index, down](double) {
      needle(index).down = down;
      changed_ = true;
    };
  };
  for (const Bounce& b : fate.bounces) {
    agenda_.at(now + b.off_s, owner, set_down(false));
    agenda_.at(now + b.on_s, owner, set_down(true));
  }
  if (fate.slip) {
    agenda_.at(now + fate.slip->after_s, owner, [this, index](double t) {
      Needle& n = needle(index);
      n.at = moved_by(n.at, n.fate.slip->angle, n.fate.slip->mm);
      n.fate.straddles = false;
      stand(n);
      agenda_.cancel(meant_by(index));
      wait_for_word(index, t + paced(hand_.reaction_s));  // it is felt
    });
  }
  if (fate.lifts_after_s) agenda_.at(now + *fate.lifts_after_s, owner, set_down(false));
}

// Nobody said anything: was it touched at all? A little beside, then.
void Hand::wait_for_word(std::size_t index, double until) {
  agenda_.at(until, meant_by(index), [this, index](double t) { try_again(index, t); });
}

void Hand::try_again(std::size_t index, double now) {
  Needle& n = needle(index);
  if (!n.target) return;
  if (n.tries < hand_.tries) {
    // It may be the other one that misses.
    for (auto& [other, held] : needles_) {
      if (other != index && held.target && !held.target->noticed) go(other, now);
    }
    return go(index, now);
  }
  forget(index);
  lift(index);
  say(now + paced(hand_.reaction_s), "cannot-reach");
}

void Hand::on_told(const Event& e, double now) {
  for (auto& [index, n] : needles_) {
    if (!n.target || n.target->touch != e.touch.touch) continue;
    if (e.kind == "booked") {
      forget(index);
      if (needles_.size() == 1) lift_at(index, now + paced(hand_.reaction_s + kGoneOnAfter));
    } else if (n.leaves) {
      continue;
    } else if (e.kind == "landed") {  // "hold still"
      agenda_.cancel(meant_by(index));
      wait_for_word(index, now + paced(kReadPatience * hand_.patience_s));
    } else {  // wrong, lost
      n.leaves = true;
      forget_plans(index);
      const std::size_t which = index;
      agenda_.at(now + paced(hand_.reaction_s), meant_by(index),
                 [this, which](double t) { try_again(which, t); });
    }
  }
}

}  // namespace isthmus::hostsim
