// SPDX-License-Identifier: Apache-2.0
#include "hostsim/waiter.hpp"

#include <sys/signalfd.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <utility>

#include "hostsim/hand/event_input.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus::hostsim {
namespace {

// SIGTERM and SIGINT as a readable descriptor; a vanished client as an error, not a signal.
Descriptor stop_signals() {
  std::signal(SIGPIPE, SIG_IGN);
  sigset_t set;
  sigemptyset(&set);
  sigaddset(&set, SIGTERM);
  sigaddset(&set, SIGINT);
  sigprocmask(SIG_BLOCK, &set, nullptr);
  return Descriptor(signalfd(-1, &set, SFD_CLOEXEC));
}

}  // namespace

Descriptor::~Descriptor() {
  if (fd_ >= 0) close(fd_);
}

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
  if (this != &other) {
    if (fd_ >= 0) close(fd_);
    fd_ = other.release();
  }
  return *this;
}

int Descriptor::release() { return std::exchange(fd_, -1); }

Waiter::Waiter(bool with_parent, EventInput* events)
    : signals_(stop_signals()), with_parent_(with_parent), events_(events) {}

bool Waiter::stdin_ended() {
  if (events_ && events_->is_stdin()) return !events_->read_some();
  std::array<char, 256> ignored{};
  return read(STDIN_FILENO, ignored.data(), ignored.size()) <= 0;
}

Woke Waiter::wait(std::span<pollfd> fds, int milliseconds) {
  std::array<pollfd, 8> all{pollfd{signals_.get(), POLLIN, 0},
                            pollfd{with_parent_ ? STDIN_FILENO : -1, POLLIN, 0}};
  ENSURE(fds.size() + 2 <= all.size());
  std::ranges::copy(fds, all.begin() + 2);
  while (true) {
    const int n = poll(all.data(), fds.size() + 2, milliseconds);
    if (n < 0 && errno == EINTR) continue;
    if (n == 0) return Woke::timeout;
    if (n < 0 || all[0].revents != 0 || (all[1].revents != 0 && stdin_ended())) return Woke::stop;
    for (std::size_t i = 0; i < fds.size(); ++i) fds[i].revents = all[i + 2].revents;
    if (std::ranges::any_of(fds, [](const pollfd& p) { return p.revents != 0; }))
      return Woke::ready;
  }
}

Woke Waiter::wait(int fd, short events, int milliseconds) {
  pollfd one{fd, events, 0};
  return wait(std::span(&one, 1), milliseconds);
}

}  // namespace isthmus::hostsim
