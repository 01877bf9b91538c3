// SPDX-License-Identifier: Apache-2.0
// The person at the bench: how fast they are, and what goes wrong in their hands. Keys:
// docs/simulator.md.
#pragma once

#include <filesystem>
#include <utility>
#include <vector>

namespace isthmus::hostsim {

struct Range {
  double low{}, high{};
};

struct HandDraw {
  // Time. `pace` multiplies all of it.
  double pace{1};
  double touch_s{2.5}, speed_mm_per_s{50};  // find, aim and lower; the way there
  double fine_mm{0.7}, fine_s{6};           // more, where the next pad is nearer than that
  double clip_s{20}, turn_over_s{20}, reaction_s{0.3};
  double patience_s{3};  // stands so long without being told anything, then tries again
  int tries{4};
  double pause_s{60};
  // Needles.
  double tip_mm{0.1}, fork_mm{0.2}, aim_mm{0.03};
  // Chances of a landing.
  double miss{0}, wrong_pad{0}, slip{0}, early_lift{0};
  double bounce{0}, bounce_ms{40};
  double straddle{0}, straddle_mm{0.3};
  double tarnish{0};
  Range tarnish_ohm{1.5, 15};
  double skin{0};
  Range skin_mohm{0.1, 5};
  // What a hand brings to the needle it holds.
  double hum_v{0}, farad{0};
  // Chances of clips.
  double clip_falls_per_min{0}, clip_exchanged{0}, clip_intermittent{0};
  std::vector<std::pair<long, int>> clip_falls_after;  // landing, channel
  std::filesystem::path log;                           // empty: none
};

}  // namespace isthmus::hostsim
