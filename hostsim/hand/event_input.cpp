// SPDX-License-Identifier: Apache-2.0
#include "hostsim/hand/event_input.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace isthmus::hostsim {

Result<EventInput> EventInput::open(const std::string& path) {
  Descriptor file(::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC));
  if (file.get() < 0) {
    return Problem{path, 0, 0, "SIM-050", std::string("cannot be read: ") + std::strerror(errno),
                   "",   ""};
  }
  const int fd = file.get();
  return EventInput(std::move(file), fd);
}

bool EventInput::read_some() {
  std::array<char, 4096> bytes{};
  const ssize_t got = read(fd_, bytes.data(), bytes.size());
  if (got > 0) pending_.append(bytes.data(), static_cast<std::size_t>(got));
  return got > 0 || (got < 0 && (errno == EINTR || errno == EAGAIN));
}

std::vector<std::string> EventInput::take() {
  const auto readable = [this] {
    pollfd one{fd_, POLLIN, 0};
    return poll(&one, 1, 0) > 0 && (one.revents & POLLIN) != 0;
  };
  while (readable()) {
    const std::size_t before = pending_.size();
    if (!read_some() || pending_.size() == before) break;
  }
  std::vector<std::string> lines;
  for (std::size_t end = 0; (end = pending_.find('\n')) != std::string::npos;) {
    lines.push_back(pending_.substr(0, end));
    pending_.erase(0, end + 1);
  }
  return lines;
}

}  // namespace isthmus::hostsim
