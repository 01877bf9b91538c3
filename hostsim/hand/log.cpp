// SPDX-License-Identifier: Apache-2.0
#include "hostsim/hand/log.hpp"

#include <fmt/format.h>

#include <string>

namespace isthmus::hostsim {
namespace {

std::string accidents(const Fate& fate) {
  std::string list;
  const auto add = [&list](bool happened, const char* name) {
    if (happened) list += fmt::format("{}\"{}\"", list.empty() ? "" : ",", name);
  };
  add(fate.wrong_pad.has_value(), "wrong-pad");
  add(fate.miss_angle.has_value(), "miss");
  add(!fate.bounces.empty(), "bounce");
  add(fate.slip.has_value(), "slip");
  add(fate.lifts_after_s.has_value(), "early-lift");
  add(fate.straddles, "straddle");
  add(fate.tarnish_ohm > 0, "tarnish");
  add(fate.fingers.has_value(), "skin");
  return list;
}

}  // namespace

HandLog::HandLog(const std::filesystem::path& path) {
  if (!path.empty()) out_.open(path);
}

void HandLog::landed(double seconds, long landing, const TouchEvent& touch, const Place& at,
                     const Fate& fate, bool on_copper) {
  if (!out_.is_open()) return;
  out_
      << fmt::format(
             R"({{"s":{:.4f},"landing":{},"touch":{},"needle":{},"side":"{}","x_mm":{:.4f},"y_mm":{:.4f},)"
             R"("copper":{},"accidents":[{}]}})",
             seconds, landing, touch.touch, touch.needle,
             at.side == Side::bottom ? "bottom" : "top", to_mm(at.at.x), to_mm(at.at.y), on_copper,
             accidents(fate))
      << std::endl;
}

void HandLog::clip(double seconds, formats::Channel channel, std::string_view what) {
  if (!out_.is_open()) return;
  out_ << fmt::format(R"({{"s":{:.4f},"clip":{},"what":"{}"}})", seconds, channel, what)
       << std::endl;
}

void HandLog::answered(double seconds, std::string_view word) {
  if (!out_.is_open()) return;
  out_ << fmt::format(R"({{"s":{:.4f},"answer":"{}"}})", seconds, word) << std::endl;
}

}  // namespace isthmus::hostsim
