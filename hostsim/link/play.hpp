// SPDX-License-Identifier: Apache-2.0
// Program messages cut out of bytes, and what the scenario's `link:` does to the responses.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "hostsim/device/device.hpp"
#include "hostsim/hand/event_input.hpp"
#include "hostsim/random.hpp"
#include "hostsim/scenario/scenario.hpp"

namespace isthmus::hostsim {

// Cuts the byte stream into program messages; keeps what is not finished.
class MessageCutter {
 public:
  explicit MessageCutter(std::size_t buffer) : buffer_(buffer) {}
  enum class Got { nothing, message, too_long };
  void add(std::string_view bytes) { pending_ += bytes; }
  // The next message without LF and the CR before it.
  Got next(std::string& message);
  void forget() {
    pending_.clear();
    skipping_ = false;
  }

 private:
  std::size_t buffer_;
  std::string pending_;
  bool skipping_{false};
};

inline constexpr int kStallMilliseconds = 3000;

// A response message on its way: nothing of it (lost), all of it, or two pieces with
// kStallMilliseconds between them.
struct Delivery {
  bool unplugged{false};  // instead of it the plug is pulled
  std::vector<std::string> pieces;
};

class LinkPlay {
 public:
  // Borrows the device and what its person reads, if anything.
  LinkPlay(Device& device, const Scenario& scenario, EventInput* events = nullptr)
      : device_(device), events_(events), faults_(scenario.link), random_(scenario.seed, "link") {}

  // Before each message the person reads what was written until then: what a hand knows does not
  // hang on how fast this machine is. Carries out whole messages up to and including the first with a response; nothing when no
  // whole message is left.
  std::optional<Delivery> next(MessageCutter& cutter);

 private:
  void show_events();
  Delivery deliver(std::string text);

  Device& device_;
  EventInput* events_;
  LinkFaults faults_;
  Random random_;
  long replies_{0};
};

}  // namespace isthmus::hostsim
