// SPDX-License-Identifier: Apache-2.0
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>

#include <cerrno>
#include <charconv>
#include <cstring>
#include <optional>

#include "adapter/fd_stream.hpp"
#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

struct HostPort {
  std::string host, port;
};

// "HOST:PORT" or "[IPv6]:PORT".
std::optional<HostPort> split(const std::string& rest) {
  const auto colon = rest.rfind(':');
  if (colon == std::string::npos) return std::nullopt;
  HostPort out{rest.substr(0, colon), rest.substr(colon + 1)};
  if (out.host.size() > 2 && out.host.front() == '[' && out.host.back() == ']') {
    out.host = out.host.substr(1, out.host.size() - 2);
  } else if (out.host.find(':') != std::string::npos) {
    return std::nullopt;
  }
  unsigned port = 0;
  const char* const end = out.port.data() + out.port.size();
  const auto read = std::from_chars(out.port.data(), end, port);
  if (read.ec != std::errc{} || read.ptr != end || port == 0 || port > 65535) return std::nullopt;
  if (out.host.empty()) return std::nullopt;
  return out;
}

// A name server may take longer than we want to wait: asynchronous, with a deadline.
struct Lookup {
  HostPort where;
  addrinfo hints{};
  gaicb job{};
  ~Lookup() {
    if (job.ar_result) ::freeaddrinfo(job.ar_result);
  }
};

Result<std::unique_ptr<Lookup>> look_up(const std::string& address, const HostPort& where,
                                        Deadline deadline) {
  auto lookup = std::make_unique<Lookup>();
  lookup->where = where;
  lookup->hints.ai_socktype = SOCK_STREAM;
  lookup->job.ar_name = lookup->where.host.c_str();
  lookup->job.ar_service = lookup->where.port.c_str();
  lookup->job.ar_request = &lookup->hints;
  gaicb* const jobs[] = {&lookup->job};
  int failed = ::getaddrinfo_a(GAI_NOWAIT, const_cast<gaicb**>(jobs), 1, nullptr);
  while (failed == 0 && ::gai_error(&lookup->job) == EAI_INPROGRESS) {
    const int left = milliseconds_left(deadline);
    const timespec wait{left / 1000, (left % 1000) * 1'000'000L};
    if (left > 0) ::gai_suspend(jobs, 1, &wait);
    if (Clock::now() < deadline) continue;
    // The resolver may still write there: then the memory is left to it.
    if (::gai_cancel(&lookup->job) == EAI_NOTCANCELED) static_cast<void>(lookup.release());
    return link_problem("ADP-007", "\"" + address + "\": the host's name was not resolved in time",
                        "give the host's number, as in tcp:192.168.1.20:5025");
  }
  if (failed == 0) failed = ::gai_error(&lookup->job);
  if (failed != 0) {
    return link_problem("ADP-007", "\"" + address + "\": " + ::gai_strerror(failed),
                        "check the host's name");
  }
  return lookup;
}

// The connected socket, or the system's error number.
struct Attempt {
  std::optional<OwnedFd> fd;
  int error{};
};

Attempt connect_one(const addrinfo& where, Deadline deadline) {
  OwnedFd fd(::socket(where.ai_family, where.ai_socktype | SOCK_NONBLOCK | SOCK_CLOEXEC,
                      where.ai_protocol));
  if (fd.get() < 0) return {std::nullopt, errno};
  if (::connect(fd.get(), where.ai_addr, where.ai_addrlen) != 0) {
    if (errno != EINPROGRESS) return {std::nullopt, errno};
    if (!wait_for(fd.get(), POLLOUT, deadline)) return {std::nullopt, ETIMEDOUT};
    int error = 0;
    socklen_t size = sizeof error;
    if (::getsockopt(fd.get(), SOL_SOCKET, SO_ERROR, &error, &size) != 0) error = errno;
    if (error != 0) return {std::nullopt, error};
  }
  const int on = 1;  // small messages must not wait for one another
  ::setsockopt(fd.get(), IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return {std::move(fd), 0};
}

}  // namespace

Opened open_tcp(const std::string& rest, Deadline deadline) {
  const std::string address = "tcp:" + rest;
  const auto where = split(rest);
  if (!where) {
    return link_problem("ADP-002", "\"" + address + "\" is not tcp:HOST:PORT",
                        "for example tcp:localhost:5025, or tcp:[::1]:5025");
  }
  auto found = look_up(address, *where, deadline);
  if (!found) return found.problem();
  int error = ECONNREFUSED;
  for (const addrinfo* at = found.value()->job.ar_result; at; at = at->ai_next) {
    Attempt attempt = connect_one(*at, deadline);
    if (attempt.fd) {
      return std::unique_ptr<ByteStream>(
          std::make_unique<FdStream>(std::move(*attempt.fd), FdStream::Kind::socket));
    }
    error = attempt.error;
  }
  return link_problem("ADP-007",
                      "cannot reach an adapter at \"" + address + "\": " + std::strerror(error),
                      "is it switched on, and is the port the one it prints?");
}

}  // namespace isthmus::adapter
