// SPDX-License-Identifier: Apache-2.0
#include "hostsim/usb/gadget_link.hpp"

#include <fcntl.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <memory>
#include <optional>
#include <utility>

#include "hostsim/link/play.hpp"
#include "hostsim/usb/function_fs.hpp"
#include "hostsim/usb/usb_gadget.hpp"
#include "hostsim/waiter.hpp"

namespace isthmus::hostsim {
namespace {

using Clock = std::chrono::steady_clock;

constexpr int kReopenMilliseconds = 100;      // a bus reset hangs the serial port up
constexpr std::chrono::seconds kPatience{2};  // then nobody reads the serial port

// The device's end of the serial port: raw, or it would echo.
Descriptor open_port(const std::string& path) {
  Descriptor fd(::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
  termios line{};
  if (fd.get() < 0 || ::tcgetattr(fd.get(), &line) != 0) return Descriptor();
  ::cfmakeraw(&line);
  ::tcsetattr(fd.get(), TCSANOW, &line);
  return fd;
}

class GadgetServer {
 public:
  GadgetServer(Device& device, const Scenario& scenario, const LinkOptions& options,
               std::string port)
      : device_(device),
        play_(device, scenario, options.events),
        waiter_(options.with_parent, options.events),
        port_path_(std::move(port)),
        port_(open_port(port_path_)),
        port_messages_(device.buffer()),
        usb_messages_(device.buffer()) {}

  UsbtmcDevice& usbtmc() { return usbtmc_; }
  void serve_by(FunctionFs& usb) { usb_ = &usb; }

  LinkEnd run() {
    while (true) {
      const auto end = step(port_.get(), POLLIN, -1);
      if (end) return *end;
      read_port();
      if (const auto pulled = answer_all()) return *pulled;
    }
  }

 private:
  // Waits for the port, and serves USB meanwhile and after. A time-out comes back as nothing, too.
  std::optional<LinkEnd> step(int port, short events, int milliseconds) {
    if (port_.get() < 0) {
      port_ = open_port(port_path_);
      milliseconds = kReopenMilliseconds;
    }
    const auto usb = usb_->to_wait_for();
    std::array<pollfd, 3> all{pollfd{port, events, 0}, usb[0], usb[1]};
    if (waiter_.wait(all, milliseconds) == Woke::stop) return LinkEnd::asked;
    serve_usb();
    return std::nullopt;
  }

  void serve_usb() {
    usb_->serve();
    if (usbtmc_.take_cleared()) {
      usb_messages_.forget();
      ++clears_;
    }
    usb_messages_.add(usbtmc_.take_input());
  }

  void read_port() {
    if (port_.get() < 0) return;
    std::array<char, 4096> bytes{};
    const ssize_t got = ::read(port_.get(), bytes.data(), bytes.size());
    if (got > 0)
      port_messages_.add({bytes.data(), static_cast<std::size_t>(got)});
    else if (got == 0 || (errno != EAGAIN && errno != EINTR))
      hang_up();
  }

  void hang_up() {
    port_ = Descriptor();
    port_messages_.forget();
    device_.host_gone();
  }

  std::optional<LinkEnd> answer_all() {
    if (const auto end = answer(port_messages_, &GadgetServer::to_port)) return end;
    return answer(usb_messages_, &GadgetServer::to_usb);
  }

  using Send = std::optional<LinkEnd> (GadgetServer::*)(std::string_view);
  std::optional<LinkEnd> answer(MessageCutter& messages, Send send) {
    while (const auto delivery = play_.next(messages)) {
      usbtmc_.set_status(device_.status_byte());
      if (delivery->unplugged) return LinkEnd::unplugged;
      const int before = clears_;
      for (std::size_t i = 0; i < delivery->pieces.size() && clears_ == before; ++i) {
        if (i > 0) {
          if (const auto end = pass(std::chrono::milliseconds(kStallMilliseconds))) return end;
        }
        if (const auto end = (this->*send)(delivery->pieces[i])) return end;
      }
    }
    usbtmc_.set_status(device_.status_byte());
    return std::nullopt;
  }

  std::optional<LinkEnd> pass(std::chrono::milliseconds time) {
    const auto until = Clock::now() + time;
    while (Clock::now() < until) {
      const auto left = std::chrono::ceil<std::chrono::milliseconds>(until - Clock::now());
      if (const auto end = step(-1, 0, static_cast<int>(left.count()))) return end;
    }
    return std::nullopt;
  }

  std::optional<LinkEnd> to_usb(std::string_view text) {
    usbtmc_.offer(text);
    serve_usb();
    return std::nullopt;
  }

  std::optional<LinkEnd> to_port(std::string_view text) {
    auto last = Clock::now();
    while (!text.empty() && port_.get() >= 0 && Clock::now() < last + kPatience) {
      const ssize_t put = ::write(port_.get(), text.data(), text.size());
      if (put > 0) {
        text.remove_prefix(static_cast<std::size_t>(put));
        last = Clock::now();
      } else if (put < 0 && errno != EAGAIN && errno != EINTR) {
        hang_up();
      } else if (const auto end = step(port_.get(), POLLOUT, kReopenMilliseconds)) {
        return end;
      }
    }
    return std::nullopt;
  }

  Device& device_;
  LinkPlay play_;
  Waiter waiter_;
  std::string port_path_;
  Descriptor port_;
  MessageCutter port_messages_, usb_messages_;
  UsbtmcDevice usbtmc_;
  FunctionFs* usb_{};
  int clears_{0};
};

}  // namespace

Result<LinkEnd> serve_gadget(Device& device, const Scenario& scenario, const LinkOptions& options) {
  auto gadget = UsbGadget::make({"Isthmus Simulated Bench", "Isthmus Mux", device.serial_number()},
                                options.udc);
  if (!gadget) return gadget.problem();
  GadgetServer server(device, scenario, options, gadget->serial_device());
  auto usb = FunctionFs::open(gadget->function_fs(), server.usbtmc());
  if (!usb) return usb.problem();
  server.serve_by(**usb);
  if (auto plugged = gadget->plug_in(); !plugged) return plugged.problem();
  std::printf("usb:%04x:%04x:%s\nserial:@%s\n", kUsbVendor, kUsbProduct,
              device.serial_number().c_str(), device.serial_number().c_str());
  std::fflush(stdout);
  const LinkEnd end = server.run();
  gadget->unplug();
  return end;
}

}  // namespace isthmus::hostsim
