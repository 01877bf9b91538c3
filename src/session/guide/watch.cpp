// SPDX-License-Identifier: Apache-2.0
#include "session/guide/watch.hpp"

#include <algorithm>

#include "isthmus/plan/step_maker.hpp"

namespace isthmus::session {
namespace {

constexpr double kSteady = 0.1, kGone = 0.02, kLook = 0.025;  // s
constexpr double kMostReadings = 64;                          // of one look
constexpr double kTouches = 100;  // ohms: two tips on tarnish, and two switches
constexpr Amperes kGentle{1e-3};  // at a tip that comes down on something

bool touches(const plan::Step& step, const plan::Reading& reading) {
  const auto* m = std::get_if<plan::Measured>(&reading.outcome);
  if (!m || !usable(reading)) return false;
  return step.kind == plan::StepKind::contact ? m->value > 0.5 : m->value < kTouches;
}

}  // namespace

plan::Step Watch::step() const {
  const plan::StepMaker make({}, what_.contact_check, 0);
  if (what_.contact_check) return make.no_contact(what_.needle.channel, true);
  if (what_.needle.fork) return make.open_in_air({what_.needle.channel}, {*what_.needle.fork});
  return make.open_in_air({what_.needle.channel}, what_.far);
}

void Watch::on(Watched what) {
  what_ = std::move(what);
  touching_s_ = open_s_ = 0;
  begun_s_ = clock_s_;
  const auto& can = instrument_.capabilities();
  reading_s_ = std::max(1e-5, seconds_for(request_of(step(), 2, can), can));
}

bool Watch::blind() const {
  return !what_.contact_check && !what_.needle.fork && what_.far.empty();
}

bool Watch::steady() const { return lifted_ && touching_s_ >= kSteady; }
bool Watch::gone() const { return open_s_ >= kGone; }

void Watch::count(bool touches) {
  clock_s_ += reading_s_;
  touching_s_ = touches ? touching_s_ + reading_s_ : 0;
  open_s_ = touches ? 0 : open_s_ + reading_s_;
  if (gone()) lifted_ = true;
}

void Watch::measure(const std::vector<plan::Step>& steps, const Measurer::Arrived& arrived) {
  instrument_.drive(kGentle);
  Measurer measurer(instrument_, setup_);
  measurer.measure(steps, arrived);
  ending_ = measurer.ending();
}

// On a simulated bench most of the time until a needle comes passes without a reading: the clock is
// the same, and the run takes a fifth of the messages.
bool Watch::let_time_pass() {
  constexpr double kWait = 0.02;
  if (!gone() || !waits_ || !instrument_.capabilities().simulated) return false;
  const auto waited = instrument_.wait_simulated(std::chrono::duration<double>(kWait));
  waits_ = waited && *waited;
  if (waits_) clock_s_ += kWait;
  return waits_;
}

void Watch::look() {
  const bool passed = let_time_pass();
  const auto n = passed
                     ? std::size_t{1}
                     : static_cast<std::size_t>(std::clamp(kLook / reading_s_, 1.0, kMostReadings));
  const std::vector<plan::Step> steps(n, step());
  measure(steps, [&](const plan::Step& s, const plan::Reading& r) -> Result<Done> {
    count(touches(s, r));
    return Done{};
  });
}

std::vector<plan::Channel> Watch::conducts_to(const std::vector<plan::Channel>& channels) {
  const plan::StepMaker make({}, false, 0);
  std::vector<plan::Step> steps;
  for (const plan::Channel c : channels)
    steps.push_back(make.open_in_air({what_.needle.channel}, {c}));
  std::vector<plan::Channel> list;
  measure(steps, [&](const plan::Step& s, const plan::Reading& r) -> Result<Done> {
    if (touches(s, r)) list.push_back(s.ret.front());
    return Done{};
  });
  return list;
}

}  // namespace isthmus::session
