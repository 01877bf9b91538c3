// SPDX-License-Identifier: Apache-2.0
#include "link.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/signalfd.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>
#include <utility>

namespace isthmus::hostsim {
namespace {

constexpr int kStallMilliseconds = 3000;

Problem link_problem(const char* code, const std::string& what) {
  return {"", 0, 0, code, what + ": " + std::strerror(errno), "", ""};
}

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

enum class Woke { bytes, stop, timeout };

// One event at a time from the stop descriptors and one other.
class Waiter {
 public:
  explicit Waiter(bool with_parent) : signals_(stop_signals()), with_parent_(with_parent) {}

  Woke wait(int fd, short events, int milliseconds) {
    while (true) {
      std::array<pollfd, 3> fds{pollfd{fd, events, 0}, pollfd{signals_.get(), POLLIN, 0},
                                pollfd{with_parent_ ? STDIN_FILENO : -1, POLLIN, 0}};
      const int n = poll(fds.data(), fds.size(), milliseconds);
      if (n < 0 && errno == EINTR) continue;
      if (n == 0) return Woke::timeout;
      if (n < 0 || fds[1].revents != 0 || (fds[2].revents != 0 && stdin_ended())) return Woke::stop;
      if (fds[0].revents != 0) return Woke::bytes;
    }
  }

 private:
  static bool stdin_ended() {
    std::array<char, 256> ignored{};
    return read(STDIN_FILENO, ignored.data(), ignored.size()) <= 0;
  }

  Descriptor signals_;
  bool with_parent_;
};

struct Listener {
  Descriptor fd;    // listening socket, or the pty's master
  Descriptor keep;  // the pty's slave, held open so that the master never sees an end
  std::string address;
};

Result<Listener> open_tcp(int port) {
  Descriptor fd(socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0));
  const int yes = 1;
  setsockopt(fd.get(), SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  auto* generic = reinterpret_cast<sockaddr*>(&address);
  if (bind(fd.get(), generic, size) != 0 || listen(fd.get(), 4) != 0 ||
      getsockname(fd.get(), generic, &size) != 0) {
    return link_problem("SIM-030", "cannot listen on port " + std::to_string(port));
  }
  return Listener{std::move(fd), Descriptor(),
                  "tcp:127.0.0.1:" + std::to_string(ntohs(address.sin_port))};
}

Result<Listener> open_pty() {
  Descriptor master(posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC));
  std::array<char, 128> name{};
  if (master.get() < 0 || grantpt(master.get()) != 0 || unlockpt(master.get()) != 0 ||
      ptsname_r(master.get(), name.data(), name.size()) != 0) {
    return link_problem("SIM-031", "cannot open a pseudo-terminal");
  }
  Descriptor slave(open(name.data(), O_RDWR | O_NOCTTY | O_CLOEXEC));
  termios settings{};
  if (slave.get() < 0 || tcgetattr(slave.get(), &settings) != 0) {
    return link_problem("SIM-031", "cannot open the pseudo-terminal's other end");
  }
  cfmakeraw(&settings);
  tcsetattr(slave.get(), TCSANOW, &settings);
  return Listener{std::move(master), std::move(slave), std::string("pty:") + name.data()};
}

// Serves one device over one descriptor after another.
class Server {
 public:
  Server(Device& device, const Scenario& scenario, bool with_parent)
      : device_(device),
        faults_(scenario.link),
        random_(scenario.seed, "link"),
        waiter_(with_parent) {}

  enum class Session { client_left, stop, unplugged };

  Session serve_client(int fd) {
    MessageCutter cutter(device_.buffer());
    std::array<char, 65536> bytes{};
    while (true) {
      if (waiter_.wait(fd, POLLIN, -1) == Woke::stop) return Session::stop;
      const ssize_t got = read(fd, bytes.data(), bytes.size());
      if (got < 0 && (errno == EINTR || errno == EAGAIN)) continue;
      if (got <= 0) return Session::client_left;
      cutter.add({bytes.data(), static_cast<std::size_t>(got)});
      const std::optional<Session> end = carry_out(fd, cutter);
      if (end) return *end;
    }
  }

  LinkEnd serve_tcp(int listener) {
    while (true) {
      if (waiter_.wait(listener, POLLIN, -1) == Woke::stop) return LinkEnd::asked;
      Descriptor client(accept4(listener, nullptr, nullptr, SOCK_CLOEXEC));
      if (client.get() < 0) continue;
      const int yes = 1;
      setsockopt(client.get(), IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
      const Session end = serve_client(client.get());
      if (end == Session::stop) return LinkEnd::asked;
      if (end == Session::unplugged) return LinkEnd::unplugged;
    }
  }

 private:
  std::optional<Session> carry_out(int fd, MessageCutter& cutter) {
    std::string message;
    while (true) {
      const MessageCutter::Got got = cutter.next(message);
      if (got == MessageCutter::Got::nothing) return std::nullopt;
      device_.wait(faults_.latency_s);
      if (got == MessageCutter::Got::too_long) {
        device_.message_too_long();
        continue;
      }
      std::string response = device_.run(message);
      if (response.empty()) continue;
      const std::optional<Session> end = reply(fd, response + "\n");
      if (end) return end;
    }
  }

  std::optional<Session> reply(int fd, std::string text) {
    if (faults_.unplug_after > 0 && replies_ >= faults_.unplug_after) return Session::unplugged;
    ++replies_;
    if (random_.chance(faults_.drop)) return std::nullopt;
    if (random_.chance(faults_.garble)) {
      const auto at =
          static_cast<std::size_t>(random_.uniform() * static_cast<double>(text.size() - 1));
      const char was = text[at];
      while (text[at] == was) text[at] = static_cast<char>(random_.between(33, 127));
    }
    std::string_view rest = text;
    if (random_.chance(faults_.stall)) {
      const auto end = write_all(fd, rest.substr(0, rest.size() / 2));
      if (end) return end;
      rest.remove_prefix(rest.size() / 2);
      if (waiter_.wait(-1, 0, kStallMilliseconds) == Woke::stop) return Session::stop;
    }
    return write_all(fd, rest);
  }

  std::optional<Session> write_all(int fd, std::string_view text) {
    while (!text.empty()) {
      if (waiter_.wait(fd, POLLOUT, -1) == Woke::stop) return Session::stop;
      const ssize_t put = write(fd, text.data(), text.size());
      if (put < 0 && (errno == EINTR || errno == EAGAIN)) continue;
      if (put < 0) return Session::client_left;
      text.remove_prefix(static_cast<std::size_t>(put));
    }
    return std::nullopt;
  }

  Device& device_;
  LinkFaults faults_;
  Random random_;
  Waiter waiter_;
  long replies_{0};
};

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

MessageCutter::Got MessageCutter::next(std::string& message) {
  const std::size_t end = pending_.find('\n');
  if (end == std::string::npos) {
    if (pending_.size() < buffer_) return Got::nothing;
    pending_.clear();  // the rest up to the LF belongs to a message already lost
    skipping_ = true;
    return Got::nothing;
  }
  message = pending_.substr(0, end);
  pending_.erase(0, end + 1);
  const bool lost = std::exchange(skipping_, false) || message.size() + 1 > buffer_;
  if (message.ends_with('\r')) message.pop_back();
  return lost ? Got::too_long : Got::message;
}

Result<LinkEnd> serve(Device& device, const Scenario& scenario, const LinkOptions& options) {
  Server server(device, scenario, options.with_parent);
  Result<Listener> listener = options.pty ? open_pty() : open_tcp(options.port);
  if (!listener) return listener.problem();
  std::printf("%s\n", listener->address.c_str());
  std::fflush(stdout);
  if (!options.pty) return server.serve_tcp(listener->fd.get());
  const auto end = server.serve_client(listener->fd.get());
  return end == Server::Session::unplugged ? LinkEnd::unplugged : LinkEnd::asked;
}

}  // namespace isthmus::hostsim
