// SPDX-License-Identifier: Apache-2.0
// The adapter as a USB device of this machine: the same program messages by a CDC-ACM port and by
// USBTMC.
#pragma once

#include "hostsim/device/device.hpp"
#include "hostsim/link/link.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

// Prints both addresses, then serves until it is told to stop or the scenario pulls the plug.
// Errors SIM-032, SIM-033.
Result<LinkEnd> serve_gadget(Device& device, const Scenario& scenario, const LinkOptions& options);

}  // namespace isthmus::hostsim
