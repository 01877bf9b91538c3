// SPDX-License-Identifier: Apache-2.0
// The headers and numbers of the USB Test and Measurement Class, revision 1.0 (USBTMC), and of its
// subclass USB488, revision 1.0. Tables and clauses are quoted from memory.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace isthmus::adapter::usbtmc {

inline constexpr std::size_t kHeader = 12;
inline constexpr std::uint8_t kDevDepMsgOut = 1, kDevDepMsgIn = 2;  // Table 2: MsgID

// Table 15, and USB488 Table 9: bRequest.
enum Request : std::uint8_t {
  kInitiateAbortBulkOut = 1,
  kCheckAbortBulkOutStatus = 2,
  kInitiateAbortBulkIn = 3,
  kCheckAbortBulkInStatus = 4,
  kInitiateClear = 5,
  kCheckClearStatus = 6,
  kGetCapabilities = 7,
  kReadStatusByte = 128,
};

// Table 16: USBTMC_status.
inline constexpr std::uint8_t kSuccess = 1, kPending = 2, kFailed = 0x80,
                              kTransferNotInProgress = 0x81;

// bTag 1 to 255, never 0, each transfer another (Table 1).
std::uint8_t next_tag(std::uint8_t tag);
// bTag of READ_STATUS_BYTE: 2 to 127 (USB488, 4.3.1).
std::uint8_t next_status_tag(std::uint8_t tag);

// DEV_DEP_MSG_OUT (Table 3): header, payload, zeros up to a multiple of 4 bytes.
std::vector<std::uint8_t> message_out(std::uint8_t tag, std::span<const char> payload,
                                      bool end_of_message);
// REQUEST_DEV_DEP_MSG_IN (Table 4), without a termination character.
std::array<std::uint8_t, kHeader> request_in(std::uint8_t tag, std::uint32_t most);

// What is wrong with a Bulk-IN transfer that answers the request `tag` for `most` bytes (Tables 8
// and 9); nothing wrong: the payload.
struct MessageIn {
  std::string wrong;
  std::span<const std::uint8_t> payload;
  bool end_of_message{};
};
MessageIn message_in(std::span<const std::uint8_t> transfer, std::uint8_t tag, std::uint32_t most);

// GET_CAPABILITIES (Table 37; USB488, Table 8).
struct Interface {
  bool listen_only{}, talk_only{}, usb488{};
  bool strict{};  // an IEEE 488.2 interface: it takes a request only when it has something to say
};
std::optional<Interface> capabilities(std::span<const std::uint8_t> answer);

}  // namespace isthmus::adapter::usbtmc
