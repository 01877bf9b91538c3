// SPDX-License-Identifier: Apache-2.0
// The adapter's end of USBTMC 1.0 with USB488 1.0, without the USB: packets and requests in,
// transfers and answers out. docs/adapter.md, Over USBTMC. Tables and clauses are quoted from
// memory.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace isthmus::hostsim {

inline constexpr std::uint8_t kBulkOutAddress = 0x01, kBulkInAddress = 0x82;

struct ControlSetup {
  std::uint8_t type{}, request{};
  std::uint16_t value{}, index{};
};

class UsbtmcDevice {
 public:
  // One packet of Bulk-OUT. False: no transfer of the class begins or goes on so; the endpoint is
  // to be halted.
  bool packet(std::span<const std::uint8_t> bytes);
  // The data of a control request that goes to the host; nothing: refused (stalled).
  std::optional<std::vector<std::uint8_t>> control(const ControlSetup& setup);

  // Bytes of program messages since the last call.
  std::string take_input();
  // Since the last call the host cleared the interface: unfinished messages and responses on their
  // way are void.
  bool take_cleared();
  // Bytes of response messages.
  void offer(std::string_view bytes) { output_ += bytes; }
  // The event and error bits of READ_STATUS_BYTE; MAV is added here.
  void set_status(int status_byte) { status_byte_ = status_byte; }

  // The Bulk-IN transfer to begin now, ended by a short packet; none while one is under way.
  std::optional<std::vector<std::uint8_t>> begin_in();
  void in_done();  // the host has it
  // True once when the transfer under way must be stopped; then in_stopped().
  bool take_stop();
  void in_stopped();
  // The bus was reset, the device configured anew.
  void reset();

 private:
  struct Incoming {
    std::uint8_t tag{};
    std::size_t payload{}, padded{};  // still to come
    std::string bytes;                // void until the transfer is whole
  };
  struct Request {
    std::uint8_t tag{};
    std::size_t most{};
  };
  bool header(std::span<const std::uint8_t> bytes);
  bool body(std::span<const std::uint8_t> bytes);
  std::vector<std::uint8_t> abort_in(std::uint8_t tag);
  std::vector<std::uint8_t> abort_out(std::uint8_t tag);
  void clear();

  std::string input_, output_;
  bool cleared_{false};
  int status_byte_{0};
  std::optional<Incoming> incoming_;
  std::uint32_t received_{0}, sent_{0};  // payload of the transfer aborted last
  std::optional<Request> request_;
  std::size_t under_way_{0};                          // bytes of output_ in the transfer under way
  bool in_flight_{false}, stop_{false}, end_{false};  // end_: a short packet is owed
};

}  // namespace isthmus::hostsim
