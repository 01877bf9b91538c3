// SPDX-License-Identifier: Apache-2.0
#include "hostsim/hand/event.hpp"

#include <nlohmann/json.hpp>

namespace isthmus::hostsim {
namespace {

using Json = nlohmann::json;

Position place_of(const Json& j) {
  return position_mm(j.at("x_mm").get<double>(), j.at("y_mm").get<double>());
}

Side side_of(const Json& j) {
  const auto side = j.at("side").get<std::string>();
  return side == "both" ? Side::both : side == "bottom" ? Side::bottom : Side::top;
}

template <class T>
T value_of(const Json& j, const char* key, T otherwise) {
  const auto found = j.find(key);
  return found == j.end() || found->is_null() ? otherwise : found->get<T>();
}

NeedleEvent needle_of(const Json& j) {
  NeedleEvent n;
  n.channel = j.at("channel").get<int>();
  if (const int fork = value_of(j, "fork", 0); fork > 0) n.fork = fork;
  return n;
}

ClipEvent clip_of(const Json& j) { return {j.at("channel").get<int>(), place_of(j), side_of(j)}; }

Event event_of(const Json& j) {
  Event e{j.at("event").get<std::string>()};
  e.touch.touch = value_of(j, "touch", 0L);
  e.touch.needle = value_of(j, "needle", std::size_t{0});
  if (e.kind == "start") {
    for (const Json& n : j.at("needles")) e.needles.push_back(needle_of(n));
  } else if (e.kind == "clips") {
    for (const Json& c : j.at("clips")) e.clips.push_back(clip_of(c));
    e.remove = value_of(j, "remove", std::vector<formats::Channel>{});
  } else if (e.kind == "clip") {
    e.channel = j.at("channel").get<int>();
    e.what = j.at("what").get<std::string>();
    if (const int with = value_of(j, "with", 0); with > 0) e.with = with;
  } else if (e.kind == "touch") {
    e.touch.tips = needle_of(j);
    e.touch.at = place_of(j);
    e.touch.side = side_of(j);
    e.touch.why = value_of(j, "why", std::string());
    e.touch.turn_over = value_of(j, "turn_over", false);
    e.touch.noticed = value_of(j, "noticed", true);
  }
  return e;
}

}  // namespace

std::optional<Event> read_event(std::string_view line) {
  try {
    return event_of(Json::parse(line));
  } catch (const Json::exception&) {
    return std::nullopt;
  }
}

}  // namespace isthmus::hostsim
