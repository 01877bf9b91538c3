// SPDX-License-Identifier: Apache-2.0
#include "hostsim/link/link.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>

#include "hostsim/link/play.hpp"
#include "hostsim/usb/gadget_link.hpp"
#include "hostsim/waiter.hpp"

namespace isthmus::hostsim {
namespace {

Problem link_problem(const char* code, const std::string& what) {
  return {"", 0, 0, code, what + ": " + std::strerror(errno), "", ""};
}

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
  Server(Device& device, const Scenario& scenario, const LinkOptions& options)
      : device_(device),
        play_(device, scenario, options.events),
        waiter_(options.with_parent, options.events) {}

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
      device_.host_gone();
      if (end == Session::stop) return LinkEnd::asked;
      if (end == Session::unplugged) return LinkEnd::unplugged;
    }
  }

 private:
  std::optional<Session> carry_out(int fd, MessageCutter& cutter) {
    while (const auto delivery = play_.next(cutter)) {
      if (delivery->unplugged) return Session::unplugged;
      for (std::size_t i = 0; i < delivery->pieces.size(); ++i) {
        if (i > 0 && waiter_.wait(-1, 0, kStallMilliseconds) == Woke::stop) return Session::stop;
        if (const auto end = write_all(fd, delivery->pieces[i])) return end;
      }
    }
    return std::nullopt;
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
  LinkPlay play_;
  Waiter waiter_;
};

}  // namespace

Result<LinkEnd> serve(Device& device, const Scenario& scenario, const LinkOptions& options) {
  if (options.gadget) return serve_gadget(device, scenario, options);
  Server server(device, scenario, options);
  Result<Listener> listener = options.pty ? open_pty() : open_tcp(options.port);
  if (!listener) return listener.problem();
  std::printf("%s\n", listener->address.c_str());
  std::fflush(stdout);
  if (!options.pty) return server.serve_tcp(listener->fd.get());
  const auto end = server.serve_client(listener->fd.get());
  return end == Server::Session::unplugged ? LinkEnd::unplugged : LinkEnd::asked;
}

}  // namespace isthmus::hostsim
