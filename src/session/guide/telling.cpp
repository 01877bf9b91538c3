// SPDX-License-Identifier: Apache-2.0
// What the person is told of the touches, the clips, the findings, and what is left.
#include <algorithm>
#include <chrono>

#include "session/guide/driver.hpp"

namespace isthmus::session {

void Driver::announce(const Job& job, bool noticed) {
  event::Touch e;
  e.touch = touch_;
  e.left = queue_.size() + 1;
  e.needle = job.touch.needle;
  e.tips = tips(job);
  e.point = job.touch.point;
  e.side = job.touch.side;
  e.at = job.touch.at;
  e.again = job.again;
  e.why = job.why;
  e.turn_over = job.touch.side != up_;
  e.noticed = noticed;
  e.likelihood = job.touch.likelihood;
  for (const auto& [needle, standing] : stands_) {
    if (needle != job.touch.needle) e.beside = {needle, standing.point};
  }
  up_ = job.touch.side;
  tell(std::move(e));
}

void Driver::tell_clips() {
  const auto unproven = run_.knowledge().unproven_clips(number_);
  for (const plan::HandClip& c : round_.clips) {
    const bool proven = std::ranges::find(unproven, c.channel) == unproven.end();
    if (proven && proven_.insert(c.channel).second)
      tell(event::Clip{c.channel, c.point, "proven", std::nullopt});
    if (proven) silent_.erase(c.channel);
  }
}

// Its parts grow with each landing.
void Driver::tell_findings() {
  const std::vector<diagnose::Finding> now = run_.knowledge().diagnosis(false).findings;
  const auto same = [](const diagnose::Finding& a, const diagnose::Finding& b) {
    return a.kind == b.kind && a.nets == b.nets;
  };
  for (Told& t : told_) {
    const bool holds = std::ranges::any_of(now, [&](const auto& f) { return same(f, t.finding); });
    if (!holds && !std::exchange(t.withdrawn, true)) tell(event::Withdrawn{t.finding});
  }
  for (const diagnose::Finding& f : now) {
    const auto known =
        std::ranges::find_if(told_, [&](const Told& t) { return same(f, t.finding); });
    if (known != told_.end() && !known->withdrawn) continue;
    tell(event::Finding{f});
    if (known == told_.end())
      told_.push_back({f, false});
    else
      *known = {f, false};
  }
}

// A simulated person's time passes in readings alone.
double Driver::now_s() const {
  if (instrument_.capabilities().simulated) return watch_.clock_s();
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

// By the usual pace, until this person's own is known.
void Driver::tell_coverage() {
  const std::size_t left = queue_.size();
  const double share =
      plan_.touches == 0 ? 0 : static_cast<double>(left) / static_cast<double>(plan_.touches);
  const auto [low, high] = pace_.minutes(left).value_or(
      std::pair{plan_.minutes_low * share, plan_.minutes_high * share});
  tell(event::Coverage{run_.knowledge().excluded().first, booked_.size(), left, low, high});
  if (pace_.rest_is_due(now_s())) tell(event::Note{"rest", touch_, ""});
}

}  // namespace isthmus::session
