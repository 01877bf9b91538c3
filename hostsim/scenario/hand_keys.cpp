// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/hand_keys.hpp"

namespace isthmus::hostsim {
namespace {

void read_range(Keys& keys, const std::string& key, Range& range) {
  const YAML::Node node = keys.take(key);
  if (!node.IsDefined()) return;
  if (!node.IsSequence() || node.size() != 2)
    fail_at(node.Mark(), "SIM-004", key + " must be [lowest, highest]");
  range = {number_of(node[0], key), number_of(node[1], key)};
  if (range.low <= 0 || range.high < range.low)
    fail_at(node.Mark(), "SIM-006", key + " must be above 0, the lowest first");
}

void read_times(Keys& keys, HandDraw& h) {
  keys.number("pace", h.pace, 0.01, 100);
  keys.number("touch-s", h.touch_s, 0.01, 1000);
  keys.number("speed-mm-per-s", h.speed_mm_per_s, 0.1, 1e4);
  keys.number("fine-mm", h.fine_mm, 0, 100);
  keys.number("fine-s", h.fine_s, 0, 1000);
  keys.number("clip-s", h.clip_s, 0.01, 1000);
  keys.number("turn-over-s", h.turn_over_s, 0, 1000);
  keys.number("reaction-s", h.reaction_s, 0.01, 100);
  keys.number("patience-s", h.patience_s, 0.1, 1000);
  keys.number("pause-s", h.pause_s, 0.01, 1e5);
  double tries = h.tries;
  keys.number("tries", tries, 1, 1000);
  h.tries = static_cast<int>(tries);
}

void read_landings(Keys& keys, HandDraw& h) {
  keys.number("tip-mm", h.tip_mm, 0.01, 5);
  keys.number("fork-mm", h.fork_mm, 0.01, 5);
  keys.number("aim-mm", h.aim_mm, 0, 10);
  keys.number("miss", h.miss, 0, 1);
  keys.number("wrong-pad", h.wrong_pad, 0, 1);
  keys.number("slip", h.slip, 0, 1);
  keys.number("early-lift", h.early_lift, 0, 1);
  keys.number("bounce", h.bounce, 0, 1);
  keys.number("bounce-ms", h.bounce_ms, 1, 1e4);
  keys.number("straddle", h.straddle, 0, 1);
  keys.number("straddle-mm", h.straddle_mm, 0.01, 5);
  keys.number("tarnish", h.tarnish, 0, 1);
  read_range(keys, "tarnish-ohm", h.tarnish_ohm);
  keys.number("skin", h.skin, 0, 1);
  read_range(keys, "skin-mohm", h.skin_mohm);
  double hum_uv = h.hum_v * 1e6, pf = h.farad * 1e12;
  keys.number("hum-uv", hum_uv, 0, 1e7);
  keys.number("pf", pf, 0, 1e4);
  h.hum_v = hum_uv * 1e-6;
  h.farad = pf * 1e-12;
}

void read_clips(Keys& keys, int channels, HandDraw& h) {
  keys.number("clip-falls-per-min", h.clip_falls_per_min, 0, 100);
  keys.number("clip-exchanged", h.clip_exchanged, 0, 1);
  keys.number("clip-intermittent", h.clip_intermittent, 0, 1);
  const YAML::Node falls = keys.take("clip-falls-after");
  if (!falls.IsDefined()) return;
  const char* form = "clip-falls-after must be a list of [landing, channel]";
  if (!falls.IsSequence()) fail_at(falls.Mark(), "SIM-004", form);
  for (const YAML::Node& f : falls) {
    if (!f.IsSequence() || f.size() != 2) fail_at(f.Mark(), "SIM-004", form);
    const long landing = whole_of(f[0], "landing"), channel = whole_of(f[1], "channel");
    if (landing < 1 || channel < 1 || channel > channels)
      fail_at(f.Mark(), "SIM-006", "landings count from 1; the channel must be on this adapter");
    h.clip_falls_after.emplace_back(landing, static_cast<int>(channel));
  }
}

}  // namespace

HandDraw read_hand(const YAML::Node& node, int channels) {
  HandDraw h;
  if (!node.IsDefined()) return h;
  Keys keys(node, "hand");
  read_times(keys, h);
  read_landings(keys, h);
  read_clips(keys, channels, h);
  if (const YAML::Node log = keys.take("log"); log.IsDefined()) h.log = text_of(log, "log");
  keys.finish();
  return h;
}

}  // namespace isthmus::hostsim
