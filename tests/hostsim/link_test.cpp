// SPDX-License-Identifier: Apache-2.0
// The link, from the host's side: serve() runs in a child process.
#include "hostsim/link/link.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <cstdio>

#include "hostsim/link/play.hpp"
#include "hostsim/network/bench.hpp"
#include "hostsim/waiter.hpp"

namespace isthmus::hostsim {
namespace {

using Got = MessageCutter::Got;

TEST(MessageCutter, CutsAtLinefeedsAndDropsTheReturnBefore) {
  MessageCutter cutter(1024);
  std::string m;
  cutter.add("*CLS\r\n*RS");
  EXPECT_EQ(cutter.next(m), Got::message);
  EXPECT_EQ(m, "*CLS");
  EXPECT_EQ(cutter.next(m), Got::nothing);
  cutter.add("T\n\n");
  EXPECT_EQ(cutter.next(m), Got::message);
  EXPECT_EQ(m, "*RST");
  EXPECT_EQ(cutter.next(m), Got::message);
  EXPECT_EQ(m, "");
}

TEST(MessageCutter, LosesAMessageLongerThanTheBufferAndGoesOn) {
  MessageCutter cutter(16);
  std::string m;
  cutter.add("123456789012345\n");  // 16 with its LF
  EXPECT_EQ(cutter.next(m), Got::message);
  cutter.add("1234567890123456\n");
  EXPECT_EQ(cutter.next(m), Got::too_long);
  cutter.add(std::string(100, 'x'));
  EXPECT_EQ(cutter.next(m), Got::nothing);
  cutter.add("xx\n*RST\n");
  EXPECT_EQ(cutter.next(m), Got::too_long);
  EXPECT_EQ(cutter.next(m), Got::message);
  EXPECT_EQ(m, "*RST");
}

const std::string kNoDescriptors = "seed: 31\n";

// A simulator in a child process; its exit status is 0 asked, 3 unplugged, 9 refused.
class Running {
 public:
  Running(const std::string& more, const LinkOptions& options) {
    std::array<int, 2> out{}, in{};
    EXPECT_EQ(pipe(out.data()), 0);
    EXPECT_EQ(pipe(in.data()), 0);
    std::fflush(nullptr);  // or the child says again what waits to be said
    child_ = fork();
    if (child_ == 0) {
      dup2(out[1], STDOUT_FILENO);
      dup2(in[0], STDIN_FILENO);
      close(in[1]);
      run_child(more, options);
    }
    close(out[1]);
    close(in[0]);
    stdin_ = in[1];
    FILE* lines = fdopen(out[0], "r");
    std::array<char, 128> line{};
    if (std::fgets(line.data(), line.size(), lines) != nullptr) address_ = line.data();
    std::fclose(lines);
    while (address_.ends_with('\n')) address_.pop_back();
  }
  ~Running() {
    if (child_ > 0) {
      kill(child_, SIGKILL);
      waitpid(child_, nullptr, 0);
    }
    close_stdin();
  }
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;

  [[nodiscard]] const std::string& address() const { return address_; }
  void terminate() const { kill(child_, SIGTERM); }
  void close_stdin() {
    if (stdin_ >= 0) close(stdin_);
    stdin_ = -1;
  }
  int wait() {
    int status = 0;
    waitpid(child_, &status, 0);
    child_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }
  [[nodiscard]] Descriptor connect_tcp() const {
    Descriptor fd(socket(AF_INET, SOCK_STREAM, 0));
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port =
        htons(static_cast<std::uint16_t>(std::stoi(address_.substr(address_.rfind(':') + 1))));
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    EXPECT_EQ(connect(fd.get(), reinterpret_cast<sockaddr*>(&to), sizeof to), 0);
    return fd;
  }

 private:
  [[noreturn]] static void run_child(const std::string& more, const LinkOptions& options) {
    const auto scenario = parse_scenario(
        "isthmus: 1\nnetwork: {points: {A: a, B: b}, resistors: [[a, b, 1]]}\n" + more, "s.yaml");
    if (!scenario) _exit(8);
    auto bench = make_network_bench(*scenario, std::nullopt);
    Device device(*scenario, **bench);
    if (more == kNoDescriptors) leave_one_descriptor();
    const auto end = serve(device, *scenario, options);
    if (!end) {  // in the address's place
      std::printf("%s\n", end.problem().code.c_str());
      std::fflush(stdout);
    }
    _exit(!end ? 9 : *end == LinkEnd::unplugged ? 3 : 0);
  }

  // The next open() works, the one after it fails.
  static void leave_one_descriptor() {
    const int lowest = dup(STDOUT_FILENO);
    close(lowest);
    const rlimit limit{static_cast<rlim_t>(lowest) + 1, static_cast<rlim_t>(lowest) + 1};
    setrlimit(RLIMIT_NOFILE, &limit);
  }

  pid_t child_{-1};
  int stdin_{-1};
  std::string address_;
};

void send(const Descriptor& fd, const std::string& text) {
  EXPECT_EQ(write(fd.get(), text.data(), text.size()), static_cast<ssize_t>(text.size()));
}

// Up to the LF; what has come when the peer closes or nothing comes for `milliseconds`.
std::string receive(const Descriptor& fd, int milliseconds = 20000) {
  std::string got;
  char c = 0;
  pollfd p{fd.get(), POLLIN, 0};
  while (poll(&p, 1, milliseconds) == 1 && read(fd.get(), &c, 1) == 1 && c != '\n') got += c;
  return got;
}

TEST(TcpLink, ServesOneClientAfterAnother) {
  Running sim("", {});
  EXPECT_TRUE(sim.address().starts_with("tcp:127.0.0.1:"));
  for (int client = 0; client < 2; ++client) {
    const Descriptor fd = sim.connect_tcp();
    send(fd, "\n*CLS;*OPC?\n:SYST:VERS?\n");
    EXPECT_EQ(receive(fd), "1");
    EXPECT_EQ(receive(fd), "1999.0");
  }
  sim.terminate();
  EXPECT_EQ(sim.wait(), 0);
}

// docs/adapter.md, Link: when the host has gone.
TEST(TcpLink, OpensItsSwitchesWhenTheHostHasGone) {
  Running sim("", {});
  {
    const Descriptor fd = sim.connect_tcp();
    send(fd, ":SYST:TAG 7;:ROUT:REF 1;:ROUT:CLOS (@1!1,2!2);CLOS:STAT?\n*ESE 3;:ROUT:CLOS (@1!5)");
    EXPECT_EQ(receive(fd), "(@1!1,2!2)");
  }
  const Descriptor fd = sim.connect_tcp();
  // No reference either: between rows with nothing on them nothing conducts.
  send(fd, ":ROUT:CLOS:STAT?;:MEAS:RES?;:SYST:ERR?;*ESE?\n");
  EXPECT_TRUE(receive(fd).starts_with("(@);7,(@),+9.900000E+37,5,#H"));
}

TEST(TcpLink, EndsWithItsParent) {
  LinkOptions options;
  options.with_parent = true;
  Running sim("", options);
  sim.close_stdin();
  EXPECT_EQ(sim.wait(), 0);
}

TEST(TcpLink, RefusesAPortInUse) {
  Running first("", {});
  LinkOptions options;
  options.port = std::stoi(first.address().substr(first.address().rfind(':') + 1));
  Running second("", options);
  EXPECT_EQ(second.address(), "SIM-030");
  EXPECT_EQ(second.wait(), 9);
}

TEST(TcpLink, IsUnpluggedAfterItsReplies) {
  Running sim("link: {unplug-after: 2}\n", {});
  const Descriptor fd = sim.connect_tcp();
  send(fd, "*OPC?\n*OPC?\n*OPC?\n");
  EXPECT_EQ(receive(fd), "1");
  EXPECT_EQ(receive(fd), "1");
  EXPECT_EQ(receive(fd), "");
  EXPECT_EQ(sim.wait(), 3);
}

TEST(TcpLink, GarblesOneCharacterOfAReply) {
  Running sim("link: {garble: 1}\n", {});
  const Descriptor fd = sim.connect_tcp();
  send(fd, ":SYST:VERS?\n");
  const std::string reply = receive(fd), meant = "1999.0";
  ASSERT_EQ(reply.size(), meant.size());
  int changed = 0;
  for (std::size_t i = 0; i < meant.size(); ++i) changed += reply[i] != meant[i] ? 1 : 0;
  EXPECT_EQ(changed, 1);
}

TEST(TcpLink, DropsWholeReplies) {
  Running sim("link: {drop: 1}\n", {});
  const Descriptor fd = sim.connect_tcp();
  send(fd, "*OPC?\n");
  EXPECT_EQ(receive(fd, 200), "");
}

TEST(TcpLink, StallsHalfwayThroughAReply) {
  Running sim("link: {stall: 1}\n", {});
  const Descriptor fd = sim.connect_tcp();
  send(fd, ":SYST:VERS?\n");
  const std::string half = receive(fd, 500);
  EXPECT_EQ(half, "199");
  EXPECT_EQ(half + receive(fd), "1999.0");
}

TEST(PtyLink, AnswersRawBytes) {
  LinkOptions options;
  options.pty = true;
  Running sim("", options);
  ASSERT_TRUE(sim.address().starts_with("pty:/dev/pts/"));
  for (int client = 0; client < 2; ++client) {
    const Descriptor fd(open(sim.address().substr(4).c_str(), O_RDWR | O_NOCTTY));
    ASSERT_GE(fd.get(), 0);
    send(fd, "*OPC?\r\n");
    EXPECT_EQ(receive(fd), "1");
  }
  sim.terminate();
  EXPECT_EQ(sim.wait(), 0);
}

TEST(PtyLink, SaysWhenThereIsNone) {
  LinkOptions options;
  options.pty = true;
  Running sim(kNoDescriptors, options);
  EXPECT_EQ(sim.address(), "SIM-031");
  EXPECT_EQ(sim.wait(), 9);
}

}  // namespace
}  // namespace isthmus::hostsim
