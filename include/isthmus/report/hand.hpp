// SPDX-License-Identifier: Apache-2.0
// A plan by hand as people and scripts see it, and the sheet that says where the clips go.
#pragma once

#include "isthmus/plan/hand.hpp"
#include "isthmus/report/report.hpp"

namespace isthmus::report {

// On one screen: clips, touches beside the bounds, minutes, what only a key can tell, what cannot
// be told.
std::string hand_text(const expect::Board& board, const plan::HandMeans& means,
                      const plan::HandPlan& plan, const TextStyle& style);
std::string hand_json(const expect::Board& board, const plan::HandMeans& means,
                      const plan::HandPlan& plan);

// "7 on J2.3, through the hole, from below (12.70, 8.26) mm"
std::string hand_clip_in_words(const expect::Board& board, const plan::HandClip& clip,
                               const TextStyle& style);

// One side's clips of a round, at 1:1: channels where the clips go, and a table of channel, pad and
// place. The bottom is drawn as seen from below, and says so.
std::string clip_sheet_svg(const expect::Board& board, const plan::Round& round, Side side);

}  // namespace isthmus::report
