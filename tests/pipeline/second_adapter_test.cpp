// SPDX-License-Identifier: Apache-2.0
// An adapter in another language, written from docs/adapter.md without a look at the code
// (tests/second-adapter): it answers the page's exchanges, and the program tests boards with it.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <regex>

#include "tests/pipeline/programs.hpp"
#include "tests/support/adapter_page.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using test::Folder;

const char* const kPython = "/usr/bin/python3";
const std::filesystem::path kHome = test::source_dir() / "tests" / "second-adapter";

class SecondAdapter {
 public:
  SecondAdapter(const std::filesystem::path& bench, const std::string& link)
      : process_(kPython, arguments(bench, link)) {}
  [[nodiscard]] const std::string& address() const { return process_.first_line(); }

 private:
  static std::vector<std::string> arguments(const std::filesystem::path& bench,
                                            const std::string& link) {
    std::vector<std::string> words{"-B", kHome / "adapter.py", bench, "--" + link};
    if (link == "tcp") words.emplace_back("0");
    return words;
  }
  test::Background process_;
};

// A bare terminal on an address: lines out, lines in.
class Line {
 public:
  explicit Line(const std::string& address) {
    if (address.starts_with("pty:")) {
      fd_ = open(address.substr(4).c_str(), O_RDWR | O_NOCTTY);
      termios raw{};
      tcgetattr(fd_, &raw);
      cfmakeraw(&raw);
      tcsetattr(fd_, TCSANOW, &raw);
    } else if (address.starts_with("tcp:")) {
      const std::string port = address.substr(address.rfind(':') + 1);
      addrinfo hints{}, *found = nullptr;
      hints.ai_socktype = SOCK_STREAM;
      if (getaddrinfo("127.0.0.1", port.c_str(), &hints, &found) != 0) return;
      fd_ = socket(found->ai_family, SOCK_STREAM, 0);
      if (connect(fd_, found->ai_addr, found->ai_addrlen) != 0) close(fd_), fd_ = -1;
      freeaddrinfo(found);
    }
  }
  ~Line() { close(fd_); }
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;
  [[nodiscard]] bool is_open() const { return fd_ >= 0; }

  void send(const std::string& bytes) {
    for (std::size_t at = 0; at < bytes.size();) {
      const ssize_t n = write(fd_, bytes.data() + at, bytes.size() - at);
      if (n <= 0) return;
      at += static_cast<std::size_t>(n);
    }
  }
  // Without its LF; what has come after ten seconds without one.
  std::string receive() {
    std::string line;
    pollfd wait{fd_, POLLIN, 0};
    for (char c{}; poll(&wait, 1, 10'000) > 0 && read(fd_, &c, 1) == 1 && c != '\n';) line += c;
    return line;
  }
  std::string ask(const std::string& message) {
    send(message + "\n");
    return receive();
  }

 private:
  int fd_{-1};
};

void answer_the_page(const std::string& link) {
  const test::AdapterPage page = test::read_adapter_page();
  SecondAdapter adapter(kHome / "page.bench", link);
  Line line(adapter.address());
  ASSERT_TRUE(line.is_open()) << adapter.address();
  int answered = 0;
  for (const auto& e : page.exchanges) {
    line.send(e.sent + "\n");
    if (e.response.empty()) continue;  // a response after all would stand in the next one's place
    EXPECT_EQ(test::difference(e.response, line.receive()), "")
        << "docs/adapter.md:" << e.line << ": " << e.sent;
    ++answered;
  }
  EXPECT_GE(answered, 15);
}

TEST(SecondAdapter, AnswersThePageOverTcp) { answer_the_page("tcp"); }
TEST(SecondAdapter, AnswersThePageOverAPseudoTerminal) { answer_the_page("pty"); }

// docs/adapter.md, Errors: -223, dropped up to its LF.
TEST(SecondAdapter, DropsAMessageLongerThanItsBuffer) {
  SecondAdapter adapter(kHome / "page.bench", "tcp");
  Line line(adapter.address());
  EXPECT_EQ(line.ask("*OPC?" + std::string(2048 - 6, ' ')), "1");
  line.send("*OPC?" + std::string(2048 - 5, ' ') + "\n" + std::string(9000, ';') + "\n");
  EXPECT_EQ(line.ask(":SYST:ERR?;ERR?;ERR?"),
            "-223,\"Too much data\";-223,\"Too much data\";0,\"No error\"");
}

// docs/adapter.md, Link: when the host has gone. The next client is served after that.
TEST(SecondAdapter, OpensItsSwitchesWhenTheTcpHostIsGone) {
  SecondAdapter adapter(kHome / "page.bench", "tcp");
  EXPECT_EQ(Line(adapter.address()).ask(":ROUT:CLOS (@1!1,2!2);:ROUT:CLOS:STAT?"), "(@1!1,2!2)");
  EXPECT_EQ(Line(adapter.address()).ask(":ROUT:CLOS:STAT?"), "(@)");
}

// A terminal closed and at once opened again looks as if nobody had gone: each try closes it anew.
TEST(SecondAdapter, OpensItsSwitchesWhenItsTerminalIsClosed) {
  SecondAdapter adapter(kHome / "page.bench", "pty");
  EXPECT_EQ(Line(adapter.address()).ask(":ROUT:CLOS (@1!1,2!2);:ROUT:CLOS:STAT?"), "(@1!1,2!2)");
  std::string closed;
  for (int i = 0; i < 500 && closed != "(@)"; ++i) {
    usleep(20'000);
    closed = Line(adapter.address()).ask(":ROUT:CLOS:STAT?");
  }
  EXPECT_EQ(closed, "(@)");
}

// What `kept` counts is in the table that a person reads; the clauses are the page's.
TEST(SecondAdapter, KeepsTheContractThoroughly) {
  const Folder folder;
  // The board is taken off.
  const std::string off = std::regex_replace(test::read(kHome / "board" / "good.bench"),
                                             std::regex("\nchannel [^\n]*"), "");
  for (const char* more : {"", "wires 2\nswitch 1\ncontact-check no\n", "simulated yes\n"}) {
    test::write(folder / "b.bench", off + more);
    SecondAdapter adapter(folder / "b.bench", "tcp");
    const auto ran =
        test::isthmus({"adapters", "--check", adapter.address(), "--thorough", "--json"});
    EXPECT_EQ(ran.code, 0) << ran.out << ran.err;
    const auto j = test::json_of(ran);
    EXPECT_EQ(j["serial"], "BB0007");
    EXPECT_GE(j["kept"].get<int>(), 60) << more;
    EXPECT_EQ(j["broken"], 0) << more;
  }
}

TEST(SecondAdapter, WithTheBoardLeftOnSaysWhatConducts) {
  SecondAdapter adapter(kHome / "board" / "good.bench", "tcp");
  const auto ran = test::isthmus({"adapters", "--check", adapter.address(), "--thorough"});
  EXPECT_EQ(ran.code, 1) << ran.out;
  EXPECT_NE(ran.out.find("or the board is still on"), std::string::npos) << ran.out;
}

TEST(SecondAdapter, WithADeafSwitchBreaksTheContract) {
  const Folder folder;
  std::filesystem::copy(kHome, folder / "home", std::filesystem::copy_options::recursive);
  const auto device = folder / "home/device.py";
  test::write(device, test::with(test::read(device), "self.closed |= self.crosspoints(entries)",
                                 "self.closed |= self.crosspoints(entries) - {(1, 3)}"));
  test::Background adapter(
      kPython, {"-B", folder / "home/adapter.py", folder / "home/board/good.bench", "--pty"});
  const auto ran = test::isthmus({"adapters", "--check", adapter.first_line(), "--thorough"});
  EXPECT_EQ(ran.code, 1) << ran.err;
  EXPECT_NE(ran.out.find("BROKEN     switches    every crosspoint closes by itself"),
            std::string::npos)
      << ran.out;
}

TEST(SecondAdapter, WithABatteryOnItIsNotDriven) {
  const Folder folder;
  test::write(folder / "b.bench",
              "battery s1 v1 1.5 1\n" + test::read(kHome / "board" / "good.bench"));
  SecondAdapter adapter(folder / "b.bench", "tcp");
  const auto ran = test::isthmus({"adapters", "--check", adapter.address(), "--thorough"});
  EXPECT_EQ(ran.code, 4) << ran.out;
  EXPECT_NE(ran.err.find("ADP-028"), std::string::npos) << ran.err;
}

TEST(SecondAdapter, NamesTheLineOfABenchItCannotRead) {
  const Folder folder;
  test::write(folder / "b.bench", "channels 8\nresistor a b\n");
  const auto ran = test::run(kPython, {"-B", kHome / "adapter.py", folder / "b.bench", "--pty"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_NE(ran.err.find("b.bench:2: resistor a b"), std::string::npos) << ran.err;
}

// Two readers of one page, and the same board under both: what they understand differently, the
// page does not say clearly enough.
TEST(SecondAdapter, UnderstandsRandomMessagesAsTheSimulatorDoes) {
  const Folder folder;
  test::write(folder / "page.yaml", test::read_adapter_page().scenario);
  test::Background simulator(test::simulator_program(), {folder / "page.yaml", "--tcp", "0"});
  const auto ran = test::run(kPython, {"-B", kHome / "compare.py", simulator.first_line(),
                                       kHome / "page.bench", "1", "1000"});
  EXPECT_EQ(ran.code, 0) << ran.out.substr(0, 3000) << ran.err;
  EXPECT_EQ(ran.out, "1000 messages, 0 understood differently\n");
}

// The float switch's board: SIGNAL on J1.1, R1.1, U1.1; SUPPLY on J1.2, U1.2; U1.3 alone.
class SecondAdapterBoard : public ::testing::Test {
 protected:
  nlohmann::json measure(const std::string& bench, int code, const std::string& link = "tcp") {
    test::write(folder_ / "b.bench", bench);
    SecondAdapter adapter(folder_ / "b.bench", link);
    const auto ran = test::isthmus({"test", kBoard / "board.yaml", "--fixture", fixture_.string(),
                                    "--adapter", adapter.address(), "--on-placement", "true",
                                    "--record", folder_ / "r.db", "--json", "--on-lift", on_lift_});
    EXPECT_EQ(ran.code, code) << ran.out.substr(0, 1500) << ran.err;
    return test::json_of(ran);
  }
  const std::filesystem::path kBoard = kHome / "board";
  const std::string good_ = test::read(kBoard / "good.bench");
  std::filesystem::path fixture_ = kBoard / "fixture.yaml";
  std::string on_lift_;
  Folder folder_;
};

// Nobody lifts the tips of this one: its first placement lies already.
TEST_F(SecondAdapterBoard, TipsThatWereNotLiftedAreHeard) {
  const std::filesystem::path folder = folder_ / "";
  on_lift_ = "cd '" + folder.string() + "' && touch";
  const auto j = measure(good_, 4);
  EXPECT_TRUE(std::filesystem::exists(folder / "A")) << "run with the placement's name";
  EXPECT_EQ(j["measurements"], 0);
}

TEST_F(SecondAdapterBoard, WithoutALiftTheVerdictSaysSo) {
  const auto j = measure(good_, 0);
  EXPECT_NE(j["remarks"].dump().find("not tried in the air"), std::string::npos) << j["remarks"];
}

TEST_F(SecondAdapterBoard, AsDesignedPassesOverTcp) {
  EXPECT_EQ(measure(good_, 0)["coverage"]["tested"], 6);
}

TEST_F(SecondAdapterBoard, AsDesignedPassesOverAPseudoTerminal) {
  EXPECT_EQ(measure(good_, 0, "pty")["verdict"], "pass");
}

TEST_F(SecondAdapterBoard, AnOpenIsFound) {
  const auto j = measure(test::with(good_, "resistor s2 s3 0.01\n", ""), 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "open");
  EXPECT_EQ(j["findings"][0]["parts"], nlohmann::json::parse(R"([["J1.1","R1.1"],["U1.1"]])"));
}

TEST_F(SecondAdapterBoard, ABridgeIsFound) {
  const auto j = measure("resistor s2 v1 47\n" + good_, 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "bridge");
  EXPECT_EQ(j["findings"][0]["nets"], nlohmann::json::parse(R"(["SIGNAL","SUPPLY"])"));
  EXPECT_NEAR(j["findings"][0]["measured_ohm"].get<double>(), 47.1, 0.3);  // two contacts of 0.05
}

TEST_F(SecondAdapterBoard, ALiftedTipIsNotTested) {
  const auto j = measure(test::with(good_, "channel 6 U1.3\n", ""), 4);
  ASSERT_EQ(j["untested"].size(), 1u);
  EXPECT_EQ(j["untested"][0]["points"], nlohmann::json::parse(R"(["U1.3"])"));
}

TEST_F(SecondAdapterBoard, ABatteryStopsTheRun) {
  const auto j = measure("battery s1 v1 1.5 1\n" + good_, 4);
  EXPECT_EQ(j["coverage"]["tested"], 0);
  EXPECT_TRUE(j["findings"].empty());
}

// No contact check and two wires: every tip has a twin, and the switches are in every reading.
TEST_F(SecondAdapterBoard, TwoWiresAndTwinTipsFindTheBridge) {
  test::write(
      folder_ / "twins.yaml",
      "isthmus: 1\nchannels: 16\nplacements:\n  - name: A\n    side: top\n    probes: {"
      "1: {point: J1.1, twin: 7}, 2: {point: R1.1, twin: 8}, 3: {point: U1.1, twin: 9}, "
      "4: {point: J1.2, twin: 10}, 5: {point: U1.2, twin: 11}, 6: {point: U1.3, twin: 12}}\n");
  fixture_ = folder_ / "twins.yaml";
  const std::string twins =
      test::with(good_, "channels 8", "channels 16\nwires 2\nswitch 1\ncontact-check no") +
      "channel 7 J1.1\nchannel 8 R1.1\nchannel 9 U1.1\nchannel 10 J1.2\n"
      "channel 11 U1.2\nchannel 12 U1.3\n";
  EXPECT_EQ(measure(twins, 4)["coverage"]["tested"], 0) << "a twin may touch its tip";
  const std::string lifted = twins + "simulated yes\n";  // at rest its tips touch nothing
  EXPECT_EQ(measure(lifted, 0)["coverage"]["tested"], 6);
  const auto j = measure("resistor s2 v1 47\n" + twins, 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "bridge");
}

// The demo board out of the bath, 430 points on 64 channels in twelve placements. Each group of
// `inspect` is a star of resistors, whose leaves are its points; channels as `plan` shares them
// out.
class SecondAdapterDemo : public ::testing::Test {
 protected:
  void SetUp() override {
    const auto made = test::isthmus({"fixture", kBoard, "--stage", "etched", "--channels", "64",
                                     "--contact-check", "--out", folder_ / "f.yaml"});
    ASSERT_EQ(made.code, 0) << made.err;
    const auto inspected =
        test::json_of(test::isthmus({"inspect", kBoard, "--stage", "etched", "--json"}));
    const auto planned = test::json_of(test::isthmus(
        {"plan", kBoard, "--stage", "etched", "--fixture", folder_ / "f.yaml", "--json"}));
    bench_ = "channels 64\nreference 10\nreference 1e7\nsimulated yes\n";
    for (const auto& group : inspected["groups"])
      for (const std::string point : group["points"]) {
        bench_ += "point " + point + ' ' + point + "\nresistor " + point + " group" +
                  std::to_string(group["id"].get<int>()) + " 0.005\n";
      }
    for (const auto& placement : planned["placement_list"]) {
      bench_ += "placement " + placement["name"].get<std::string>() + '\n';
      for (const auto& [channel, point] : placement["probes"].items())
        bench_ += "channel " + channel + ' ' + point.get<std::string>() + '\n';
    }
  }
  nlohmann::json measure(const std::string& bench, int code) {
    test::write(folder_ / "b.bench", bench);
    SecondAdapter adapter(folder_ / "b.bench", "tcp");
    const auto ran =
        test::isthmus({"test", kBoard, "--stage", "etched", "--fixture", folder_ / "f.yaml",
                       "--adapter", adapter.address(), "--record", folder_ / "r.db", "--json"});
    EXPECT_EQ(ran.code, code) << ran.out.substr(0, 1500) << ran.err;
    return test::json_of(ran);
  }
  const std::string kBoard = test::source_dir() / "fixtures" / "tide-gauge" / "board.yaml";
  Folder folder_;
  std::string bench_;
};

// U2.5 lies on TIDE_N, U2.4 beside it on TIDE_P.
TEST_F(SecondAdapterDemo, TheTideGaugePassesUntilItIsHurt) {
  auto j = measure(bench_, 0);
  EXPECT_EQ(j["coverage"]["tested"], j["coverage"]["required"]);
  const auto leaf = bench_.find("resistor U2.5 ");
  ASSERT_NE(leaf, std::string::npos);
  bench_.replace(leaf, bench_.find('\n', leaf) - leaf, "resistor U2.5 U2.4 33");
  j = measure(bench_, 1);
  ASSERT_EQ(j["findings"].size(), 2u);
  EXPECT_EQ(j["findings"][0]["kind"], "open");
  EXPECT_EQ(j["findings"][0]["nets"], nlohmann::json::parse(R"(["TIDE_N"])"));
  EXPECT_EQ(j["findings"][1]["kind"], "bridge");
  EXPECT_EQ(j["findings"][1]["nets"], nlohmann::json::parse(R"(["TIDE_N","TIDE_P"])"));
}

}  // namespace
}  // namespace isthmus
