// SPDX-License-Identifier: Apache-2.0
// Waiting for a descriptor, or for being told to stop.
#pragma once

#include <poll.h>

#include <span>

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

class EventInput;

enum class Woke { ready, stop, timeout };

// Stop is SIGTERM, SIGINT and, with_parent, the end of stdin.
class Waiter {
 public:
  // What comes over stdin belongs to `events` where they are read from there; else it is ignored.
  explicit Waiter(bool with_parent, EventInput* events = nullptr);
  // At most six descriptors; a negative one is not waited for. -1 ms: for ever.
  Woke wait(std::span<pollfd> fds, int milliseconds);
  Woke wait(int fd, short events, int milliseconds);

 private:
  bool stdin_ended();

  Descriptor signals_;
  bool with_parent_;
  EventInput* events_;
};

}  // namespace isthmus::hostsim
