// SPDX-License-Identifier: Apache-2.0
// Landings beyond the plan: what the readings ask for.
#include <algorithm>

#include "session/guide/driver.hpp"

namespace isthmus::session {
namespace {

// One place for one reason.
int most_asked(const std::string& why) { return why == "prove-clip" ? 8 : 3; }

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

// With the other needle put there first. A bridge is told from a tip that straddles by both landing
// anew; otherwise one that stands there still will do.
bool Driver::stand_beside(const plan::Touch& touch, PointId at, const std::string& why) {
  if (round_.needles.size() < 2) return false;
  auto other = touch_at(at);
  if (!other) return false;
  other->needle = touch.needle == 0 ? 1 : 0;
  const auto stands = stands_.find(other->needle);
  const bool anew = why != name(diagnose::WhyTouch::second_landing);
  if (anew || stands == stands_.end() || stands->second.point != at)
    queue_.push_front({.touch = *other, .why = why, .again = true});
  return true;
}

// The first of these places that may still be asked for this reason.
bool Driver::ask(const std::vector<PointId>& places, const std::string& why,
                 std::optional<PointId> beside) {
  for (const PointId p : places) {
    const bool waits = std::ranges::any_of(
        queue_, [&](const Job& j) { return j.touch.point == p && j.why == why; });
    if (waits) return true;
  }
  for (const PointId p : places) {
    if (std::ranges::find(cannot_reach_, p) != cannot_reach_.end()) continue;
    auto touch = touch_at(p);
    if (!touch || asked_[{p, why}] >= most_asked(why)) continue;
    ++asked_[{p, why}];
    touch->other_stands = beside.has_value();
    queue_.push_front({.touch = *touch, .why = why, .again = true});
    if (beside) stand_beside(*touch, *beside, why);
    return true;
  }
  return false;
}

void Driver::ask_more(bool at_end) {
  auto wanted = run_.knowledge().wanted_touches(number_, at_end);
  // What proves a clip comes before what relies on it, and is asked about again once it was read.
  bool proving = false;
  for (const diagnose::WantedTouch& w : wanted) {
    if (w.why == diagnose::WhyTouch::prove_clip) proving = ask(w.at, "prove-clip") || proving;
  }
  if (proving) return;
  for (const diagnose::WantedTouch& w : wanted) {
    if (w.why == diagnose::WhyTouch::prove_clip) continue;
    const bool confirms =
        w.why == diagnose::WhyTouch::straddle || w.why == diagnose::WhyTouch::fingers_off;
    if (!at_end && !confirms && w.why != diagnose::WhyTouch::second_landing) continue;
    ask(w.at, std::string(name(w.why)), w.beside);
  }
  if (!at_end || !queue_.empty() || !hooks_.left) return;
  for (const plan::Touch& t : hooks_.left(round_, run_.knowledge().facts(), cannot_reach_)) {
    if (asked_[{t.point, ""}] >= most_asked("")) continue;
    ++asked_[{t.point, ""}];
    queue_.push_back({.touch = t, .again = true});
  }
}

}  // namespace isthmus::session
