// SPDX-License-Identifier: Apache-2.0
#include "isthmus/adapter/stream.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <string_view>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

struct Transport {
  std::string_view scheme;
  Opened (*open)(const std::string& rest, Deadline deadline);
};

// To add one: docs/adding-a-transport.md.
constexpr std::array kTransports{
    Transport{"serial", open_serial},
    Transport{"pty", open_pty},
    Transport{"tcp", open_tcp},
    Transport{"usb", open_usb},
};

Problem unknown_scheme(const std::string& address) {
  std::string known;
  for (const Transport& t : kTransports) {
    known += (known.empty() ? "" : ", ") + std::string(t.scheme) + ":";
  }
  std::string hint = "known are " + known;
  if (address.starts_with("/dev/pts/"))
    hint = "perhaps pty:" + address;
  else if (address.starts_with("/dev/"))
    hint = "perhaps serial:" + address;
  return link_problem("ADP-001", "\"" + address + "\" names no known kind of link", hint);
}

// The rule's text says which devices it is for.
Problem not_allowed(const std::string& address) {
  const std::string rule =
      "install the udev rule 70-isthmus.rules (docs/adapter.md), then plug the adapter in again";
  return link_problem("ADP-004", "you are not allowed to open \"" + address + "\"",
                      address.starts_with("usb:")
                          ? rule
                          : "add yourself to the port's group, usually: sudo adduser $USER dialout "
                            "(then log in again); or " +
                                rule);
}

}  // namespace

Problem link_problem(std::string code, std::string message, std::string hint) {
  Problem p;
  p.code = std::move(code);
  p.message = std::move(message);
  p.hint = std::move(hint);
  p.cause = Cause::link;
  return p;
}

Problem cannot_open(const std::string& address, int error_number) {
  const std::string named = "\"" + address + "\"";
  switch (error_number) {
    case ENOENT:
    case ENODEV:
    case ENXIO:
    case ENOTDIR:
      return link_problem("ADP-003", "there is no adapter at " + named,
                          "is it plugged in? `isthmus adapters` lists what is there");
    case EACCES:
    case EPERM:
      return not_allowed(address);
    case EBUSY:
    case EWOULDBLOCK:
      return link_problem("ADP-005", named + " is in use by another program",
                          "close the other program; `fuser` with the device's name shows it");
    default:
      return link_problem("ADP-006", "cannot open " + named + ": " + std::strerror(error_number));
  }
}

Problem link_gone(const std::string& how) {
  return link_problem("ADP-010", "the link to the adapter is gone: " + how,
                      "check cable and supply, then start again");
}

Problem write_timed_out() {
  return link_problem("ADP-011", "the adapter takes no more bytes",
                      "unplug it, plug it in again, then start again");
}

std::string in_one_line(const Problem& p) {
  return p.message + (p.hint.empty() ? "" : ": " + p.hint);
}

int milliseconds_left(Deadline deadline) {
  const auto left = std::chrono::ceil<std::chrono::milliseconds>(deadline - Clock::now()).count();
  if (left <= 0) return 0;
  constexpr long kLongest = 24L * 3600 * 1000;
  return static_cast<int>(left < kLongest ? left : kLongest);
}

Result<std::unique_ptr<ByteStream>> open_stream(const std::string& address, Deadline deadline) {
  const auto colon = address.find(':');
  for (const Transport& t : kTransports) {
    if (colon == std::string::npos || address.substr(0, colon) != t.scheme) continue;
    const std::string rest = address.substr(colon + 1);
    if (rest.empty()) {
      return link_problem(
          "ADP-002", "\"" + address + "\" says nothing after its colon",
          "for example serial:/dev/ttyACM0, usb:1209:0001, pty:/dev/pts/4, tcp:localhost:5025");
    }
    return t.open(rest, deadline);
  }
  return unknown_scheme(address);
}

std::vector<Listed> list_adapters() {
  std::vector<Listed> out = list_serial();
  std::ranges::move(list_usb(), std::back_inserter(out));
  std::ranges::sort(out, {}, [](const Listed& l) { return std::tie(l.address, l.device); });
  return out;
}

}  // namespace isthmus::adapter
