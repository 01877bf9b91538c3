// SPDX-License-Identifier: Apache-2.0
// A finding mended while the board lies there.
#include <algorithm>

#include "session/guide/driver.hpp"
#include "session/guide/mended.hpp"

namespace isthmus::session {

// Everything near it is read anew, and nothing else is.
void Driver::mended(const std::string& which) {
  std::set<PointId> points;
  for (std::size_t i = 0; i < told_.size(); ++i) {
    if (told_[i].withdrawn || (!which.empty() && which != std::to_string(i + 1))) continue;
    const auto near = near_mended(board_, told_[i].finding);
    points.insert(near.begin(), near.end());
  }
  if (points.empty() || !hooks_.left) return;
  run_.rework({points.begin(), points.end()});
  stands_.clear();
  asked_.clear();
  tell_findings();
  queue_.clear();
  for (const plan::Touch& t : hooks_.left(round_, run_.knowledge().facts(), cannot_reach_))
    queue_.push_back({.touch = t, .why = "mended"});
}

// True where there is more to touch.
bool Driver::offer_rework() {
  const auto open = std::ranges::count(told_, false, &Told::withdrawn);
  if (!hooks_.offers_rework || open == 0) return false;
  tell_coverage();
  tell(event::Offer{static_cast<std::size_t>(open)});
  while (const auto a = wait_for_answer()) {
    if (a->kind == Answer::Kind::mended) {
      mended(a->why);
      if (!queue_.empty()) return true;
    }
    if (a->kind == Answer::Kind::quit || a->kind == Answer::Kind::done) return false;
  }
  return false;
}

}  // namespace isthmus::session
