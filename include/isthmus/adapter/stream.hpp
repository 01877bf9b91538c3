// SPDX-License-Identifier: Apache-2.0
// Bytes to and from an adapter. One row a transport: docs/adding-a-transport.md.
#pragma once

#include <chrono>
#include <cstddef>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "isthmus/base/result.hpp"

namespace isthmus::adapter {

using Clock = std::chrono::steady_clock;
using Deadline = Clock::time_point;

class ByteStream {
 public:
  virtual ~ByteStream() = default;
  // At least one byte, or 0 when the deadline passed; ADP-0xx when the link is gone.
  virtual Result<std::size_t> read(std::span<char> into, Deadline deadline) = 0;
  // All bytes, or a Problem (deadline passed, link gone).
  virtual Result<Done> write(std::span<const char> bytes, Deadline deadline) = 0;
};

// "serial:/dev/ttyACM0", "serial:@SERIALNUMBER", "usb:VID:PID[:SERIALNUMBER]", "tcp:HOST:PORT",
// "pty:/dev/pts/N". (sim: is started by the cli, which then opens the address it prints.)
//
// Errors  ADP-0xx: unknown scheme, malformed, not there, not allowed (with the rule to install),
//         busy.
Result<std::unique_ptr<ByteStream>> open_stream(const std::string& address, Deadline deadline);

// Every byte both ways goes to `path` as text (ISTHMUS_TRACE).
std::unique_ptr<ByteStream> traced(std::unique_ptr<ByteStream> stream, const std::string& path);

struct Listed {
  std::string address;  // by its serial number, where it has one that no other has
  std::string maker, model, serial_number;
  std::string device;   // its file, such as /dev/ttyACM0
  std::string why_not;  // empty: it can be opened
};
// Serial ports and USBTMC devices, by address. None of them is written to.
std::vector<Listed> list_adapters();

}  // namespace isthmus::adapter
