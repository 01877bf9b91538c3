// SPDX-License-Identifier: Apache-2.0
#include "adapter/fd_stream.hpp"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "adapter/transports.hpp"

namespace isthmus::adapter {

OwnedFd::~OwnedFd() {
  if (fd_ >= 0) ::close(fd_);
}

bool wait_for(int fd, short events, Deadline deadline) {
  for (;;) {
    pollfd waiting{fd, events, 0};
    const int ready = ::poll(&waiting, 1, milliseconds_left(deadline));
    // An error of poll shows again, with its reason, in the read or write that follows.
    if (ready > 0 || (ready < 0 && errno != EINTR)) return true;
    if (Clock::now() >= deadline) return false;
  }
}

Result<std::size_t> FdStream::read(std::span<char> into, Deadline deadline) {
  ENSURE(!into.empty());
  for (;;) {
    const ssize_t n = ::read(fd_.get(), into.data(), into.size());
    if (n > 0) return static_cast<std::size_t>(n);
    if (n == 0) return link_gone("the other end closed it");
    if (errno == EINTR) continue;
    if (errno != EAGAIN && errno != EWOULDBLOCK) return link_gone(std::strerror(errno));
    if (!wait_for(fd_.get(), POLLIN, deadline)) return std::size_t{0};
  }
}

Result<Done> FdStream::write(std::span<const char> bytes, Deadline deadline) {
  while (!bytes.empty()) {
    // A closed socket must be a Problem here, not a SIGPIPE to the whole program.
    const ssize_t n = kind_ == Kind::socket
                          ? ::send(fd_.get(), bytes.data(), bytes.size(), MSG_NOSIGNAL)
                          : ::write(fd_.get(), bytes.data(), bytes.size());
    if (n > 0) {
      bytes = bytes.subspan(static_cast<std::size_t>(n));
      continue;
    }
    if (n < 0 && errno == EINTR) continue;
    if (n < 0 && errno != EAGAIN && errno != EWOULDBLOCK) return link_gone(std::strerror(errno));
    if (!wait_for(fd_.get(), POLLOUT, deadline)) return write_timed_out();
  }
  return Done{};
}

}  // namespace isthmus::adapter
