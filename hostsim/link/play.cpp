// SPDX-License-Identifier: Apache-2.0
#include "hostsim/link/play.hpp"

#include <cstdio>
#include <utility>

namespace isthmus::hostsim {

MessageCutter::Got MessageCutter::next(std::string& message) {
  const std::size_t end = pending_.find('\n');
  if (end == std::string::npos) {
    if (pending_.size() < buffer_) return Got::nothing;
    pending_.clear();  // the rest up to the LF belongs to a message already lost
    skipping_ = true;
    return Got::nothing;
  }
  message = pending_.substr(0, end);
  pending_.erase(0, end + 1);
  const bool lost = std::exchange(skipping_, false) || message.size() + 1 > buffer_;
  if (message.ends_with('\r')) message.pop_back();
  return lost ? Got::too_long : Got::message;
}

std::optional<Delivery> LinkPlay::next(MessageCutter& cutter) {
  std::string message;
  while (true) {
    const MessageCutter::Got got = cutter.next(message);
    if (got == MessageCutter::Got::nothing) return std::nullopt;
    show_events();
    device_.start();
    device_.wait(faults_.latency_s);
    if (got == MessageCutter::Got::too_long) {
      device_.message_too_long();
      continue;
    }
    const std::string response = device_.run(message);
    if (!response.empty()) return deliver(response + "\n");
  }
}

void LinkPlay::show_events() {
  if (!events_) return;
  for (const std::string& line : events_->take()) {
    if (!device_.show(line))
      std::fprintf(stderr, "isthmus-sim: warning: not an event: %s\n", line.c_str());
  }
}

Delivery LinkPlay::deliver(std::string text) {
  if (faults_.unplug_after > 0 && replies_ >= faults_.unplug_after) return {true, {}};
  ++replies_;
  if (random_.chance(faults_.drop)) return {};
  if (random_.chance(faults_.garble)) {
    const auto at =
        static_cast<std::size_t>(random_.uniform() * static_cast<double>(text.size() - 1));
    const char was = text[at];
    while (text[at] == was) text[at] = static_cast<char>(random_.between(33, 127));
  }
  if (!random_.chance(faults_.stall)) return {false, {std::move(text)}};
  const std::size_t half = text.size() / 2;
  return {false, {text.substr(0, half), text.substr(half)}};
}

}  // namespace isthmus::hostsim
