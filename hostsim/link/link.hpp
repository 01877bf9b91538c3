// SPDX-License-Identifier: Apache-2.0
// The link between host and adapter: a pseudo-terminal, a TCP port of this machine, or a USB device
// that this machine plays.
#pragma once

#include <string>

#include "hostsim/device/device.hpp"
#include "hostsim/hand/event_input.hpp"
#include "hostsim/scenario/scenario.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

struct LinkOptions {
  bool pty{false};
  bool gadget{false};
  std::string udc;          // gadget: which USB device controller; empty: the first
  int port{0};              // 0: any free one
  bool with_parent{false};  // ends when stdin closes
  EventInput* events{};     // what the person at the bench reads; may be standard input
};

enum class LinkEnd { asked, unplugged };

// Opens the link, prints its address on stdout and serves one client after another until SIGTERM,
// SIGINT, the end of stdin (with_parent) or the simulated unplugging. Errors SIM-030 to SIM-033.
Result<LinkEnd> serve(Device& device, const Scenario& scenario, const LinkOptions& options);

}  // namespace isthmus::hostsim
