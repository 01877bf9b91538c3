// SPDX-License-Identifier: Apache-2.0
// What the person at the bench reads: one line of the guide's event stream, by the simulator's own
// reader. What a person would not act on is not kept.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::hostsim {

struct NeedleEvent {
  formats::Channel channel{};
  std::optional<formats::Channel> fork{};
};

struct ClipEvent {
  formats::Channel channel{};
  Position at;
  Side side{Side::top};
};

struct TouchEvent {
  long touch{};
  std::size_t needle{};
  NeedleEvent tips;
  Position at;
  Side side{Side::top};
  std::string why{};
  bool turn_over{false};
  bool noticed{true};  // false: held until the other needle has landed beside it
};

struct Event {
  std::string kind;                    // "start", "touch"...
  std::vector<NeedleEvent> needles{};  // start
  std::vector<ClipEvent> clips{};      // clips
  std::vector<formats::Channel> remove{};
  TouchEvent touch{};          // touch; of the others its number and needle, if they say
  formats::Channel channel{};  // clip
  std::optional<formats::Channel> with{};  // clip
  std::string what{};                      // clip
};

// Nothing where the line is no JSON object with an `event`, or an event known lacks what it needs.
std::optional<Event> read_event(std::string_view line);

}  // namespace isthmus::hostsim
