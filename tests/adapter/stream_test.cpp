// SPDX-License-Identifier: Apache-2.0
// Oracle: the operating system: real pseudo-terminals and sockets of this machine.
#include "isthmus/adapter/stream.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

Deadline soon() { return Clock::now() + std::chrono::seconds(5); }
Deadline at_once() { return Clock::now() + std::chrono::milliseconds(20); }

struct Fd {
  int fd{-1};
  explicit Fd(int open_fd) : fd(open_fd) {}
  Fd(const Fd&) = delete;
  Fd& operator=(const Fd&) = delete;
  ~Fd() { close(); }
  void close() {
    if (fd >= 0) ::close(std::exchange(fd, -1));
  }
};

struct PtyMaster : Fd {
  PtyMaster() : Fd(::posix_openpt(O_RDWR | O_NOCTTY)) {
    ::grantpt(fd);
    ::unlockpt(fd);
  }
  [[nodiscard]] std::string address() const { return std::string("pty:") + ::ptsname(fd); }
};

struct Listener : Fd {
  int port{};
  Listener() : Fd(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in where{};
    where.sin_family = AF_INET;
    where.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof where;
    auto* const any = reinterpret_cast<sockaddr*>(&where);
    ::bind(fd, any, size);
    ::listen(fd, 1);
    ::getsockname(fd, any, &size);
    port = ntohs(where.sin_port);
  }
  [[nodiscard]] std::string address() const { return "tcp:127.0.0.1:" + std::to_string(port); }
};

std::string read_fd(int fd) {
  std::array<char, 256> room{};
  const ssize_t n = ::read(fd, room.data(), room.size());
  return n > 0 ? std::string(room.data(), static_cast<std::size_t>(n)) : "";
}

std::string read_stream(ByteStream& stream) {
  std::array<char, 256> room{};
  const auto n = stream.read(room, soon());
  return n ? std::string(room.data(), n.value()) : n.problem().code;
}

std::string code_of(const std::string& address) {
  const auto opened = open_stream(address, soon());
  return opened ? "" : opened.problem().code;
}

// Both ways, every byte value unchanged, then time-out, then the other side goes.
void exercise(ByteStream& stream, Fd& other) {
  std::string all;
  for (int c = 0; c < 256; ++c) all += static_cast<char>(c);
  ASSERT_TRUE(stream.write(all, soon()));
  EXPECT_EQ(read_fd(other.fd), all);
  ASSERT_EQ(::write(other.fd, all.data(), all.size()), 256);
  EXPECT_EQ(read_stream(stream), all);
  std::array<char, 4> room{};
  EXPECT_EQ(*stream.read(room, at_once()), 0u);
  other.close();
  EXPECT_EQ(read_stream(stream), "ADP-010");
}

TEST(PtyStream, PassesEveryByteAndTellsWhenTheOtherSideGoes) {
  PtyMaster master;
  auto stream = open_stream(master.address(), soon());
  ASSERT_TRUE(stream) << format(stream.problem());
  exercise(**stream, master);
}

TEST(PtyStream, IsNotSharedWithASecondProgram) {
  PtyMaster master;
  const auto first = open_stream(master.address(), soon());
  ASSERT_TRUE(first);
  EXPECT_EQ(code_of(master.address()), "ADP-005");
}

TEST(PtyStream, GivesUpWritingWhenNobodyReads) {
  PtyMaster master;
  auto stream = open_stream(master.address(), soon());
  ASSERT_TRUE(stream);
  const std::string much(1u << 20, 'x');
  const auto put = (*stream)->write(much, Clock::now() + std::chrono::milliseconds(100));
  ASSERT_FALSE(put);
  EXPECT_EQ(put.problem().code, "ADP-011");
}

TEST(TcpStream, PassesEveryByteAndTellsWhenTheOtherSideGoes) {
  Listener listener;
  auto stream = open_stream(listener.address(), soon());
  ASSERT_TRUE(stream) << format(stream.problem());
  Fd peer(::accept(listener.fd, nullptr, nullptr));
  exercise(**stream, peer);
}

TEST(TcpStream, SurvivesWritingToAClosedPeer) {
  Listener listener;
  auto stream = open_stream(listener.address(), soon());
  ASSERT_TRUE(stream);
  Fd(::accept(listener.fd, nullptr, nullptr)).close();
  std::string code;
  for (int i = 0; i < 100 && code.empty(); ++i) {
    const auto put = (*stream)->write(std::string("x"), soon());
    if (!put) code = put.problem().code;
  }
  EXPECT_EQ(code, "ADP-010");
}

TEST(TcpStream, SaysThatNobodyListens) {
  Listener listener;
  const std::string address = listener.address();
  listener.close();
  EXPECT_EQ(code_of(address), "ADP-007");
}

TEST(OpenStream, RefusesWhatIsNoAddress) {
  const std::pair<const char*, const char*> cases[] = {
      {"", "ADP-001"},
      {"/dev/ttyACM0", "ADP-001"},
      {"gpib:7", "ADP-001"},
      {"serial:", "ADP-002"},
      {"tcp:localhost", "ADP-002"},
      {"tcp:localhost:0", "ADP-002"},
      {"tcp::5025", "ADP-002"},
      {"tcp:h:5o25", "ADP-002"},
      {"tcp:h:70000", "ADP-002"},
      {"tcp:::1:50", "ADP-002"},
      {"pty:/dev/null", "ADP-006"},
      {"pty:/dev/pts/none", "ADP-003"},
      {"serial:@NONE-SUCH", "ADP-003"},
      {"serial:/dev/ttyNONE7", "ADP-003"},
      {"serial:/dev/null", "ADP-006"},
      {"usb:", "ADP-002"},
      {"usb:1209", "ADP-002"},
      {"usb:12o9:0001", "ADP-002"},
      {"usb:1209:0001:", "ADP-002"},
  };
  for (const auto& [address, code] : cases) EXPECT_EQ(code_of(address), code) << address;
}

TEST(CannotOpen, TellsWhoMustAct) {
  const std::pair<int, const char*> cases[] = {{ENOENT, "ADP-003"}, {ENXIO, "ADP-003"},
                                               {EACCES, "ADP-004"}, {EPERM, "ADP-004"},
                                               {EBUSY, "ADP-005"},  {EIO, "ADP-006"}};
  for (const auto& [error, code] : cases)
    EXPECT_EQ(cannot_open("serial:/dev/ttyACM0", error).code, code);
}

TEST(CannotOpen, NamesTheRuleToInstall) {
  EXPECT_NE(cannot_open("usb:1209:0001", EACCES).hint.find("70-isthmus.rules"), std::string::npos);
  EXPECT_NE(cannot_open("serial:/dev/ttyACM0", EACCES).hint.find("dialout"), std::string::npos);
}

TEST(OpenStream, SaysWhichSchemeWasMeant) {
  const auto opened = open_stream("/dev/ttyACM0", soon());
  ASSERT_FALSE(opened);
  EXPECT_EQ(format(opened.problem()),
            "error ADP-001: \"/dev/ttyACM0\" names no known kind of link\n  hint: perhaps "
            "serial:/dev/ttyACM0");
}

TEST(OpenStream, TellsThatAPtyIsNoSerialPort) {
  PtyMaster master;
  const auto opened = open_stream("serial:" + master.address().substr(4), soon());
  ASSERT_FALSE(opened);
  EXPECT_EQ(opened.problem().hint, "a pseudo-terminal is opened as " + master.address());
}

TEST(TracedStream, WritesEveryByteBothWays) {
  const std::filesystem::path path =
      std::filesystem::temp_directory_path() / "isthmus-trace-test.txt";
  std::filesystem::remove(path);
  PtyMaster master;
  {
    auto opened = open_stream(master.address(), soon());
    ASSERT_TRUE(opened);
    const auto stream = traced(std::move(*opened), path.string());
    ASSERT_TRUE(stream->write(std::string("*IDN?\n"), soon()));
    ASSERT_EQ(::write(master.fd, "a\x01\\\n", 4), 4);
    EXPECT_EQ(read_stream(*stream), "a\x01\\\n");
  }
  std::ifstream file(path);
  std::string first, second;
  std::getline(file, first);
  std::getline(file, second);
  EXPECT_EQ(first.substr(10), " > *IDN?\\n");
  EXPECT_EQ(second.substr(10), " < a\\x01\\\\\\n");
  std::filesystem::remove(path);
}

TEST(TracedStream, SaysThatItCannotWrite) {
  PtyMaster master;
  auto opened = open_stream(master.address(), soon());
  ASSERT_TRUE(opened);
  const auto stream = traced(std::move(*opened), "/nowhere/at/all.txt");
  const auto put = stream->write(std::string("x"), soon());
  ASSERT_FALSE(put);
  EXPECT_EQ(put.problem().code, "ADP-012");
  EXPECT_EQ(put.problem().file, "/nowhere/at/all.txt");
}

TEST(ListAdapters, IsSortedAndEveryAddressHasItsScheme) {
  const auto all = list_adapters();
  EXPECT_TRUE(std::ranges::is_sorted(all, {}, &Listed::address));
  for (const Listed& one : all)
    EXPECT_TRUE(one.address.starts_with("serial:") || one.address.starts_with("usb:"))
        << one.address;
}

}  // namespace
}  // namespace isthmus::adapter
