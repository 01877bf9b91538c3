// SPDX-License-Identifier: Apache-2.0
// A board proven by hand: clips that stay, needles that land, each landing read as it happens.
#pragma once

#include <functional>
#include <span>

#include "isthmus/session/events.hpp"
#include "isthmus/session/session.hpp"

namespace isthmus::session {

struct GuideHooks {
  std::function<void(const Event&)> tell;
  // The next answer since the last call; never waits.
  std::function<std::optional<Answer>()> heard;
  std::function<bool()> interrupted;
  // Somebody is there to mend what was found before the run ends.
  bool offers_rework{false};
  // After the last planned touch: what an entry that cannot be told yet still needs.
  std::function<std::vector<plan::Touch>(const plan::Round&, const expect::Facts&,
                                         std::span<const PointId> cannot_reach)>
      left;
};

struct GuideJob {
  const plan::HandPlan& plan;
  bool contact_check{false};
  // A run by hand of the same clips that broke off: clips are proven anew, and what was touched then
  // counts once eight resistances read as they did; where one does not, everything is touched again.
  const record::StoredRun* broken{nullptr};
};

// Touch by touch, until the plan and what the readings ask beyond it is done.
//
// Shape   a landing is noticed, told from a wrong pad, measured and booked without a key: it counts
//         only with its contacts proven before and after. The record has each as a placement.
// Errors  HND-011 to HND-019 before anything is measured: more than 10 V or 1 mA at a needle that is
//         held in the hand, more channels than the adapter has; SES-0xx. A link that fails ends inside
//         the Outcome.
// Source  docs/guide.md.
Result<Outcome> guide(const expect::Board& board, const GuideJob& job,
                      adapter::Instrument& instrument, record::Record& record,
                      const record::RunHead& head, const GuideHooks& hooks);

}  // namespace isthmus::session
