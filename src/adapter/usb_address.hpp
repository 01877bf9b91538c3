// SPDX-License-Identifier: Apache-2.0
// "VID:PID" or "VID:PID:SERIALNUMBER", and which of the devices that are plugged in it means.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::adapter {

struct UsbAddress {
  std::uint16_t vendor{}, product{};
  std::optional<std::string> serial_number;  // may hold colons
};

// Numbers are one to four hexadecimal digits.
std::optional<UsbAddress> parse_usb_address(const std::string& rest);

// "usb:1209:0001:SN42"; without a serial number "usb:1209:0001".
std::string usb_address(std::uint16_t vendor, std::uint16_t product, const std::string& serial);

struct UsbNames {
  std::uint16_t vendor{}, product{};
  std::string maker, model, serial_number;
};
// The index of the one meant. ADP-003 none, ADP-008 several.
Result<std::size_t> choose(const UsbAddress& wanted, std::span<const UsbNames> there);

}  // namespace isthmus::adapter
