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

// "serial:/dev/ttyACM0", "serial:@SERIALNUMBER", "tcp:HOST:PORT", "pty:/dev/pts/N". Errors ADP-0xx:
// unknown scheme, malformed, not there, not allowed (with the rule to install), busy. (sim: is
// started by the cli, which then opens the address it prints.)
Result<std::unique_ptr<ByteStream>> open_stream(const std::string& address, Deadline deadline);

// Every byte both ways goes to `path` as text (ISTHMUS_TRACE).
std::unique_ptr<ByteStream> traced(std::unique_ptr<ByteStream> stream, const std::string& path);

struct Listed {
  std::string address, maker, model, serial_number;
  std::string why_not;  // empty: it can be opened
};
std::vector<Listed> list_adapters();

}  // namespace isthmus::adapter
