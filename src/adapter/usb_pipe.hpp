// SPDX-License-Identifier: Apache-2.0
// The endpoints of one USBTMC interface, as the stream over them sees them: what libusb does behind
// libusb_pipe.cpp, and a test by itself.
#pragma once

#include <cstdint>
#include <span>

#include "isthmus/adapter/stream.hpp"

namespace isthmus::adapter {

enum class PipeEnd {
  done,       // in: the transfer ended with a short packet, or the room is full; out: all is away
  timed_out,  // `bytes` were moved before the deadline; the transfer can be carried on
  stalled,    // the endpoint is halted, or the control request refused
  failed,     // an error on the wire, more bytes than room; the device is still there
  gone,       // the device is not there any more
};

struct Moved {
  std::size_t bytes{};
  PipeEnd end{};
};

// A class request: bmRequestType says its recipient, the interface or one of the bulk endpoints.
struct ControlRequest {
  enum class To { interface, bulk_out, bulk_in };
  To to{};
  std::uint8_t request{};
  std::uint16_t value{};
};

class UsbPipe {
 public:
  virtual ~UsbPipe() = default;
  virtual Moved bulk_out(std::span<const std::uint8_t> bytes, Deadline deadline) = 0;
  // REQUIRES room for a whole number of packets.
  virtual Moved bulk_in(std::span<std::uint8_t> room, Deadline deadline) = 0;
  // All class requests of USBTMC read an answer; their data stage goes to the host.
  virtual Moved control(const ControlRequest& request, std::span<std::uint8_t> answer,
                        Deadline deadline) = 0;
  // The answers to READ_STATUS_BYTE where there is such an endpoint.
  virtual Moved interrupt_in(std::span<std::uint8_t> room, Deadline deadline) = 0;
  [[nodiscard]] virtual bool has_interrupt_in() const = 0;
  // CLEAR_FEATURE(ENDPOINT_HALT) (USB 2.0, 9.4.1).
  virtual PipeEnd clear_halt_out() = 0;
  virtual PipeEnd clear_halt_in() = 0;
};

}  // namespace isthmus::adapter
