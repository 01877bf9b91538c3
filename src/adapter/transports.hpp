// SPDX-License-Identifier: Apache-2.0
// One opener a transport. `rest` is the address after its scheme and colon.
#pragma once

#include <memory>
#include <string>

#include "isthmus/adapter/stream.hpp"

namespace isthmus::adapter {

using Opened = Result<std::unique_ptr<ByteStream>>;

Opened open_serial(const std::string& rest, Deadline deadline);
Opened open_pty(const std::string& rest, Deadline deadline);
Opened open_tcp(const std::string& rest, Deadline deadline);
Opened open_usb(const std::string& rest, Deadline deadline);

std::vector<Listed> list_serial();
std::vector<Listed> list_usb();

// A Problem without a file: addresses and links have no lines.
Problem link_problem(std::string code, std::string message, std::string hint = "");
// ADP-003 to ADP-006, by the system's error number.
Problem cannot_open(const std::string& address, int error_number);
Problem link_gone(const std::string& how);  // ADP-010
Problem write_timed_out();                  // ADP-011

// "message: hint".
std::string in_one_line(const Problem& p);

// Milliseconds left, rounded up, at least 0: never waits short of the deadline, never endlessly.
int milliseconds_left(Deadline deadline);

}  // namespace isthmus::adapter
