// SPDX-License-Identifier: Apache-2.0
// Pseudo-terminals: libserialport refuses them (no sysfs entry, no modem lines), so they get plain
// termios.
#include <fcntl.h>
#include <sys/file.h>
#include <termios.h>
#include <unistd.h>

#include <cerrno>

#include "adapter/fd_stream.hpp"
#include "adapter/transports.hpp"

namespace isthmus::adapter {

Opened open_pty(const std::string& rest, Deadline) {
  const std::string address = "pty:" + rest;
  OwnedFd fd(::open(rest.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
  if (fd.get() < 0) return cannot_open(address, errno);
  termios line{};
  if (::tcgetattr(fd.get(), &line) != 0) {
    return link_problem("ADP-006", "\"" + address + "\" is no terminal",
                        "a pseudo-terminal is named like pty:/dev/pts/4");
  }
  if (::flock(fd.get(), LOCK_EX | LOCK_NB) != 0) return cannot_open(address, EBUSY);
  ::cfmakeraw(&line);
  line.c_cflag |= CLOCAL | CREAD;
  line.c_cc[VMIN] = 1;
  line.c_cc[VTIME] = 0;
  if (::tcsetattr(fd.get(), TCSANOW, &line) != 0) return cannot_open(address, errno);
  return std::unique_ptr<ByteStream>(
      std::make_unique<FdStream>(std::move(fd), FdStream::Kind::terminal));
}

}  // namespace isthmus::adapter
