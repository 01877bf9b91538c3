// SPDX-License-Identifier: Apache-2.0
#include "adapter/usbtmc_wire.hpp"

#include <fmt/format.h>

#include "isthmus/base/ensure.hpp"

namespace isthmus::adapter::usbtmc {
namespace {

std::array<std::uint8_t, kHeader> header(std::uint8_t id, std::uint8_t tag, std::uint32_t size,
                                         std::uint8_t attributes) {
  ENSURE(tag != 0);
  const auto byte = [size](unsigned shift) {
    return static_cast<std::uint8_t>((size >> shift) & 0xff);
  };
  return {id,       tag,      static_cast<std::uint8_t>(~tag),
          0,        byte(0),  byte(8),
          byte(16), byte(24), attributes,
          0,        0,        0};
}

std::uint32_t size_in(std::span<const std::uint8_t> transfer) {
  std::uint32_t size = 0;
  for (std::size_t i = 0; i < 4; ++i) size |= std::uint32_t{transfer[4 + i]} << (8 * i);
  return size;
}

}  // namespace

std::uint8_t next_tag(std::uint8_t tag) { return static_cast<std::uint8_t>(tag % 255 + 1); }

std::uint8_t next_status_tag(std::uint8_t tag) {
  return static_cast<std::uint8_t>(tag < 2 || tag >= 127 ? 2 : tag + 1);
}

std::vector<std::uint8_t> message_out(std::uint8_t tag, std::span<const char> payload,
                                      bool end_of_message) {
  ENSURE(!payload.empty());
  const auto head = header(kDevDepMsgOut, tag, static_cast<std::uint32_t>(payload.size()),
                           end_of_message ? 1 : 0);
  std::vector<std::uint8_t> out(head.begin(), head.end());
  for (const char c : payload) out.push_back(static_cast<std::uint8_t>(c));
  out.resize((out.size() + 3) / 4 * 4);
  return out;
}

std::array<std::uint8_t, kHeader> request_in(std::uint8_t tag, std::uint32_t most) {
  return header(kDevDepMsgIn, tag, most, 0);
}

MessageIn message_in(std::span<const std::uint8_t> transfer, std::uint8_t tag, std::uint32_t most) {
  const auto wrong = [](std::string what) { return MessageIn{std::move(what), {}, false}; };
  if (transfer.size() < kHeader) {
    return wrong(fmt::format("a transfer of {} bytes has no whole header", transfer.size()));
  }
  if (transfer[0] != kDevDepMsgIn)
    return wrong(fmt::format("MsgID {} instead of {}", transfer[0], kDevDepMsgIn));
  if (transfer[1] != tag || transfer[2] != static_cast<std::uint8_t>(~tag)) {
    return wrong(fmt::format("bTag {:02X} {:02X} instead of {:02X} {:02X}", transfer[1],
                             transfer[2], tag, static_cast<std::uint8_t>(~tag)));
  }
  const std::uint32_t size = size_in(transfer);
  if (size > most)
    return wrong(fmt::format("{} bytes where at most {} were asked for", size, most));
  if (transfer.size() - kHeader < size) {
    return wrong(fmt::format("{} bytes announced, {} came", size, transfer.size() - kHeader));
  }
  // Up to three bytes of alignment may follow; their values mean nothing (3.3).
  if (transfer.size() - kHeader > size + 3u) {
    return wrong(fmt::format("{} bytes announced, {} came", size, transfer.size() - kHeader));
  }
  return {"", transfer.subspan(kHeader, size), (transfer[8] & 1) != 0};
}

std::optional<Interface> capabilities(std::span<const std::uint8_t> answer) {
  if (answer.size() < 24 || answer[0] != kSuccess) return std::nullopt;
  const bool usb488 = answer[12] != 0 || answer[13] != 0;
  return Interface{(answer[4] & 1) != 0, (answer[4] & 2) != 0, usb488,
                   usb488 && (answer[14] & 4) != 0};
}

}  // namespace isthmus::adapter::usbtmc
