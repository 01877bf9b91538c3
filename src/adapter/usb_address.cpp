// SPDX-License-Identifier: Apache-2.0
#include "adapter/usb_address.hpp"

#include <fmt/format.h>

#include <charconv>
#include <vector>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

std::optional<std::uint16_t> hexadecimal(std::string_view text) {
  if (text.empty() || text.size() > 4) return std::nullopt;
  std::uint16_t value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value, 16);
  if (read.ec != std::errc{} || read.ptr != text.data() + text.size()) return std::nullopt;
  return value;
}

std::string address_of(const UsbNames& names) {
  return usb_address(names.vendor, names.product, names.serial_number);
}

std::string listed(std::span<const UsbNames> all) {
  std::string out;
  for (const UsbNames& one : all) out += (out.empty() ? "" : ", ") + address_of(one);
  return out;
}

}  // namespace

std::optional<UsbAddress> parse_usb_address(const std::string& rest) {
  const auto first = rest.find(':');
  if (first == std::string::npos) return std::nullopt;
  const auto second = std::min(rest.find(':', first + 1), rest.size());
  const auto vendor = hexadecimal(std::string_view(rest).substr(0, first));
  const auto product = hexadecimal(std::string_view(rest).substr(first + 1, second - first - 1));
  if (!vendor || !product) return std::nullopt;
  UsbAddress out{*vendor, *product, std::nullopt};
  if (second < rest.size()) {
    out.serial_number = rest.substr(second + 1);
    if (out.serial_number->empty()) return std::nullopt;
  }
  return out;
}

std::string usb_address(std::uint16_t vendor, std::uint16_t product, const std::string& serial) {
  return fmt::format("usb:{:04x}:{:04x}{}{}", vendor, product, serial.empty() ? "" : ":", serial);
}

Result<std::size_t> choose(const UsbAddress& wanted, std::span<const UsbNames> there) {
  const std::string named =
      "\"" + usb_address(wanted.vendor, wanted.product, wanted.serial_number.value_or("")) + "\"";
  std::vector<std::size_t> fits;
  std::vector<UsbNames> matching;
  for (std::size_t i = 0; i < there.size(); ++i) {
    const UsbNames& one = there[i];
    if (one.vendor != wanted.vendor || one.product != wanted.product) continue;
    if (wanted.serial_number && one.serial_number != *wanted.serial_number) continue;
    fits.push_back(i);
    matching.push_back(one);
  }
  if (fits.size() == 1) return fits.front();
  if (fits.empty()) {
    return link_problem("ADP-003", "no USBTMC device is " + named,
                        there.empty() ? "no USBTMC device is plugged in; `isthmus adapters` lists "
                                        "what is there"
                                      : "plugged in: " + listed(there));
  }
  return link_problem(
      "ADP-008", "several USBTMC devices are " + named,
      "name one of them by its serial number, or unplug the others: " + listed(matching));
}

}  // namespace isthmus::adapter
