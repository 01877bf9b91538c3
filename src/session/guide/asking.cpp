// SPDX-License-Identifier: Apache-2.0
// Landings beyond the plan: what the readings ask for.
#include <algorithm>

#include "session/guide/driver.hpp"

namespace isthmus::session {
namespace {

constexpr int kMostAsked = 3;  // one place for one reason

}  // namespace

std::optional<plan::Touch> Driver::touch_at(PointId point) const {
  const auto planned = std::ranges::find(round_.touches, point, &plan::Touch::point);
  if (planned != round_.touches.end()) {
    plan::Touch t = *planned;
    t.other_stands = false;
    return t;
  }
  const expect::Point& p = board_.expectation.point(point);
  plan::Touch t;
  t.point = point;
  t.at = p.at;
  t.side =
      board_.faults.node_of(point, Side::top) != expect::Wiring::kNone ? Side::top : Side::bottom;
  if (board_.faults.node_of(point, t.side) == expect::Wiring::kNone) return std::nullopt;
  return t;
}

// The first of these places that may still be asked for this reason.
bool Driver::ask(const std::vector<PointId>& places, const std::string& why) {
  for (const PointId p : places) {
    const bool waits = std::ranges::any_of(
        queue_, [&](const Job& j) { return j.touch.point == p && j.why == why; });
    if (waits) return true;
  }
  for (const PointId p : places) {
    if (std::ranges::find(cannot_reach_, p) != cannot_reach_.end()) continue;
    const auto touch = touch_at(p);
    if (!touch || asked_[{p, why}] >= kMostAsked) continue;
    ++asked_[{p, why}];
    queue_.push_front({*touch, why, true, 0, 0, {}});
    return true;
  }
  return false;
}

void Driver::ask_more(bool at_end) {
  auto wanted = run_.knowledge().wanted_touches(number_, at_end);
  // What proves a clip stands before what relies on it: the queue is filled from its front.
  std::ranges::reverse(wanted);
  for (const diagnose::WantedTouch& w : wanted) {
    const bool confirms =
        w.why == diagnose::WhyTouch::straddle || w.why == diagnose::WhyTouch::fingers_off;
    if (!at_end && !confirms && w.why != diagnose::WhyTouch::prove_clip &&
        w.why != diagnose::WhyTouch::second_landing)
      continue;
    ask(w.at, std::string(name(w.why)));
  }
  if (!at_end || !queue_.empty() || !hooks_.left) return;
  for (const plan::Touch& t : hooks_.left(round_, run_.knowledge().facts(), cannot_reach_)) {
    if (asked_[{t.point, ""}] >= kMostAsked) continue;
    ++asked_[{t.point, ""}];
    queue_.push_back({t, {}, true, 0, 0, {}});
  }
}

}  // namespace isthmus::session
