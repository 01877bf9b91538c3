// SPDX-License-Identifier: Apache-2.0
// The link between host and adapter: a pseudo-terminal or a TCP port of this machine.
#pragma once

#include <string>

#include "device.hpp"
#include "isthmus/base/result.hpp"
#include "random.hpp"
#include "scenario.hpp"

namespace isthmus::hostsim {

// Owns a file descriptor.
class Descriptor {
 public:
  explicit Descriptor(int fd = -1) : fd_(fd) {}
  ~Descriptor();
  Descriptor(Descriptor&& other) noexcept : fd_(other.release()) {}
  Descriptor& operator=(Descriptor&& other) noexcept;
  [[nodiscard]] int get() const { return fd_; }
  int release();

 private:
  int fd_;
};

// Cuts the byte stream into program messages; keeps what is not finished.
class MessageCutter {
 public:
  explicit MessageCutter(std::size_t buffer) : buffer_(buffer) {}
  enum class Got { nothing, message, too_long };
  void add(std::string_view bytes) { pending_ += bytes; }
  // The next message without LF and the CR before it.
  Got next(std::string& message);
  void forget() {
    pending_.clear();
    skipping_ = false;
  }

 private:
  std::size_t buffer_;
  std::string pending_;
  bool skipping_{false};
};

struct LinkOptions {
  bool pty{false};
  int port{0};              // 0: any free one
  bool with_parent{false};  // ends when stdin closes
};

enum class LinkEnd { asked, unplugged };

// Opens the link, prints its address on stdout and serves one client after another until SIGTERM,
// SIGINT, the end of stdin (with_parent) or the simulated unplugging. Errors SIM-030, SIM-031.
Result<LinkEnd> serve(Device& device, const Scenario& scenario, const LinkOptions& options);

}  // namespace isthmus::hostsim
