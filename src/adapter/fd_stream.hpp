// SPDX-License-Identifier: Apache-2.0
// A stream over a non-blocking file descriptor: terminals and sockets.
#pragma once

#include "isthmus/adapter/stream.hpp"

namespace isthmus::adapter {

class OwnedFd {
 public:
  explicit OwnedFd(int fd) : fd_(fd) {}
  OwnedFd(OwnedFd&& other) noexcept : fd_(other.fd_) { other.fd_ = -1; }
  OwnedFd(const OwnedFd&) = delete;
  OwnedFd& operator=(const OwnedFd&) = delete;
  OwnedFd& operator=(OwnedFd&&) = delete;
  ~OwnedFd();
  [[nodiscard]] int get() const { return fd_; }

 private:
  int fd_;
};

// Waits for `events` (poll). False when the deadline passed first.
bool wait_for(int fd, short events, Deadline deadline);

class FdStream : public ByteStream {
 public:
  enum class Kind { terminal, socket };
  FdStream(OwnedFd fd, Kind kind) : fd_(std::move(fd)), kind_(kind) {}
  Result<std::size_t> read(std::span<char> into, Deadline deadline) override;
  Result<Done> write(std::span<const char> bytes, Deadline deadline) override;

 private:
  OwnedFd fd_;
  Kind kind_;
};

}  // namespace isthmus::adapter
