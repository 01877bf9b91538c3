// SPDX-License-Identifier: Apache-2.0
// Real serial ports, through libserialport.
#include <libserialport.h>
#include <poll.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include "adapter/fd_stream.hpp"
#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

struct FreePort {
  void operator()(sp_port* port) const {
    sp_close(port);  // an error where it is not open; nothing to do about it
    sp_free_port(port);
  }
};
using Port = std::unique_ptr<sp_port, FreePort>;

std::string text_or_empty(const char* text) { return text ? text : ""; }

class SerialStream : public ByteStream {
 public:
  SerialStream(Port port, int fd, std::string path)
      : port_(std::move(port)), fd_(fd), path_(std::move(path)) {}

  Result<std::size_t> read(std::span<char> into, Deadline deadline) override {
    ENSURE(!into.empty());
    // Waiting is ours: the library takes a hung-up port for one that reads nothing, and waits on.
    for (;;) {
      const int got = sp_nonblocking_read(port_.get(), into.data(), into.size());
      if (got < 0) return link_gone(reason());
      if (got > 0) return static_cast<std::size_t>(got);
      if (hung_up()) return link_gone(path_ + " was unplugged");
      if (!wait_for(fd_, POLLIN, deadline)) return std::size_t{0};
    }
  }

  Result<Done> write(std::span<const char> bytes, Deadline deadline) override {
    if (bytes.empty()) return Done{};
    const int put = sp_blocking_write(port_.get(), bytes.data(), bytes.size(), wait_ms(deadline));
    if (put < 0) return link_gone(reason());
    if (static_cast<std::size_t>(put) < bytes.size()) return write_timed_out();
    return Done{};
  }

 private:
  [[nodiscard]] bool hung_up() const {
    pollfd now{fd_, POLLIN, 0};
    return ::poll(&now, 1, 0) > 0 && (now.revents & (POLLHUP | POLLERR | POLLNVAL)) != 0;
  }
  // To libserialport 0 means "for ever".
  static unsigned wait_ms(Deadline deadline) {
    return static_cast<unsigned>(std::max(1, milliseconds_left(deadline)));
  }
  static std::string reason() {
    const int error = sp_last_error_code();
    return error ? std::strerror(error) : "the port reports a failure";
  }

  Port port_;
  int fd_;  // the port's own
  std::string path_;
};

bool set_up(sp_port* port) {
  return sp_set_baudrate(port, 115200) == SP_OK && sp_set_bits(port, 8) == SP_OK &&
         sp_set_parity(port, SP_PARITY_NONE) == SP_OK && sp_set_stopbits(port, 1) == SP_OK &&
         sp_set_flowcontrol(port, SP_FLOWCONTROL_NONE) == SP_OK &&
         sp_set_dtr(port, SP_DTR_ON) == SP_OK;  // how a CDC device knows that it was opened
}

template <class Visit>
void each_port(Visit visit) {
  sp_port** ports = nullptr;
  if (sp_list_ports(&ports) != SP_OK) return;
  for (std::size_t i = 0; ports[i]; ++i) visit(ports[i]);
  sp_free_port_list(ports);
}

// "@SERIALNUMBER" to the one port that has it.
Result<std::string> find_by_serial_number(const std::string& wanted) {
  std::vector<std::string> matching, others;
  each_port([&](sp_port* port) {
    const std::string number = text_or_empty(sp_get_port_usb_serial(port));
    if (number == wanted)
      matching.push_back(text_or_empty(sp_get_port_name(port)));
    else if (!number.empty())
      others.push_back(number);
  });
  if (matching.size() == 1) return matching.front();
  if (matching.size() > 1) {
    return link_problem("ADP-008", "several ports have the serial number \"" + wanted + "\"",
                        "name one of them: serial:" + matching[0] + " or serial:" + matching[1]);
  }
  std::string hint = "no port with a serial number is plugged in";
  if (!others.empty()) hint = "plugged in: serial:@" + others.front();
  for (std::size_t i = 1; i < others.size(); ++i) hint += ", serial:@" + others[i];
  return link_problem("ADP-003", "no port has the serial number \"" + wanted + "\"", hint);
}

}  // namespace

Opened open_serial(const std::string& rest, Deadline) {
  std::string path = rest;
  if (rest.front() == '@') {
    auto found = find_by_serial_number(rest.substr(1));
    if (!found) return found.problem();
    path = found.value();
  }
  const std::string address = "serial:" + path;
  if (::access(path.c_str(), F_OK) != 0) return cannot_open(address, errno);
  sp_port* raw = nullptr;
  if (sp_get_port_by_name(path.c_str(), &raw) != SP_OK) {
    return link_problem("ADP-006", "\"" + address + "\" is no serial port",
                        path.starts_with("/dev/pts/") ? "a pseudo-terminal is opened as pty:" + path
                                                      : "`isthmus adapters` lists the ports");
  }
  Port port(raw);
  if (sp_open(port.get(), SP_MODE_READ_WRITE) != SP_OK) {
    return cannot_open(address, sp_last_error_code());
  }
  int fd = -1;
  if (sp_get_port_handle(port.get(), &fd) != SP_OK)
    return cannot_open(address, sp_last_error_code());
  if (::flock(fd, LOCK_EX | LOCK_NB) != 0) return cannot_open(address, EBUSY);
  if (!set_up(port.get())) return cannot_open(address, sp_last_error_code());
  return std::unique_ptr<ByteStream>(std::make_unique<SerialStream>(std::move(port), fd, path));
}

std::vector<Listed> list_serial() {
  std::vector<Listed> out;
  each_port([&](sp_port* port) {
    const std::string path = text_or_empty(sp_get_port_name(port));
    out.push_back({"serial:" + path, text_or_empty(sp_get_port_usb_manufacturer(port)),
                   text_or_empty(sp_get_port_usb_product(port)),
                   text_or_empty(sp_get_port_usb_serial(port)), path, ""});
  });
  // A serial number outlives the order of plugging in; of several with one number none has it.
  for (Listed& one : out) {
    const auto alike = std::ranges::count(out, one.serial_number, &Listed::serial_number);
    if (!one.serial_number.empty() && alike == 1) one.address = "serial:@" + one.serial_number;
    if (::access(one.device.c_str(), R_OK | W_OK) != 0)
      one.why_not = in_one_line(cannot_open(one.address, errno));
  }
  return out;
}

}  // namespace isthmus::adapter
