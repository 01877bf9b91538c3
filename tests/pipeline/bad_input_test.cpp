// SPDX-License-Identifier: Apache-2.0
// What a person can get wrong, and what a bench can: each with its exit code, and nothing
// half-written.
#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/socket.h>
#include <unistd.h>

#include <functional>
#include <set>
#include <thread>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;
using test::Folder;
using test::Ran;

std::set<std::string> contents(const Folder& folder) {
  std::set<std::string> names;
  for (const auto& entry : fs::recursive_directory_iterator(folder.path()))
    names.insert(entry.path());
  return names;
}

// A copy of the demo board's design with a fixture for stage joined.
class BadInput : public ::testing::Test {
 protected:
  BadInput() {
    fs::copy(test::source_dir() / "fixtures/tide-gauge", folder_.path(),
             fs::copy_options::recursive | fs::copy_options::overwrite_existing);
    fs::copy_file(shared_fixture(), fixture());
  }
  // Made once: it takes two seconds.
  static fs::path shared_fixture() {
    static const Folder kept;
    const fs::path file = kept / "fixture.yaml";
    if (!fs::exists(file)) {
      const Ran made = test::isthmus(
          {"fixture", (test::source_dir() / "fixtures/tide-gauge/board.yaml").string(),
           "--channels", "64", "--contact-check", "--out", file});
      if (made.code != 0) throw std::runtime_error(made.err);
    }
    return file;
  }
  [[nodiscard]] std::string board() const { return folder_ / "board.yaml"; }
  [[nodiscard]] std::string fixture() const { return folder_ / "fixture.yaml"; }
  [[nodiscard]] std::string bench() const { return folder_ / "bench-mended.yaml"; }
  void edit(const std::string& file, const std::string& old, const std::string& fresh) const {
    test::write(folder_ / file, test::with(test::read(folder_ / file), old, fresh));
  }
  [[nodiscard]] Ran run_test(const std::string& adapter, std::vector<std::string> more = {}) const {
    std::vector<std::string> words{"test",      board(), "--fixture", fixture(),
                                   "--adapter", adapter, "--record",  folder_ / "record.db",
                                   "--json"};
    words.insert(words.end(), more.begin(), more.end());
    return test::isthmus(words);
  }
  [[nodiscard]] Ran run_test() const { return run_test("sim:" + bench()); }

  // Exit 2, stdout empty, the code and the place in the message, no file made.
  void refuses(const std::function<Ran()>& what, const std::string& code,
               const std::string& place) const {
    const auto before = contents(folder_);
    const Ran ran = what();
    EXPECT_EQ(ran.code, 2) << ran.err;
    EXPECT_EQ(ran.out, "");
    EXPECT_NE(ran.err.find(code), std::string::npos) << ran.err;
    EXPECT_NE(ran.err.find(place), std::string::npos) << ran.err;
    EXPECT_EQ(contents(folder_), before);
  }

  Folder folder_;
};

TEST_F(BadInput, MissingFilesAreNamed) {
  fs::remove(folder_ / "top.gbr");
  refuses([&] { return run_test(); }, "DSN-", "top.gbr");
  refuses([&] { return test::isthmus({"inspect", folder_ / "none.yaml"}); }, "error", "none.yaml");
}

TEST_F(BadInput, ATruncatedGerberIsRefusedAtItsEnd) {
  const std::string text = test::read(folder_ / "top.gbr");
  test::write(folder_ / "top.gbr", text.substr(0, text.size() / 2));
  refuses([&] { return run_test(); }, "GBR-", "top.gbr:");
}

TEST_F(BadInput, AMissingUnitIsAnErrorAtItsPlace) {
  edit("board.yaml", "excess: 0.2 ohm", "excess: 0.2");
  refuses([&] { return test::isthmus({"inspect", board()}); }, "YML-", "board.yaml:");
}

TEST_F(BadInput, AnUnknownKeyNamesTheNearest) {
  edit("board.yaml", "netlist:", "netlst:");
  refuses([&] { return test::isthmus({"inspect", board()}); }, "YML-002", "netlist");
}

TEST_F(BadInput, ANetlistThatFitsNowhereIsRefused) {
  const std::string text = test::read(folder_ / "tide-gauge.d356");
  std::string lines, line;
  int count = 0;
  for (char c : text) {  // each record moved by another distance: no origin makes it fit
    line += c;
    if (c != '\n') continue;
    if (line.size() > 50 && (line.starts_with("317") || line.starts_with("327"))) {
      ++count;
      line[45] = static_cast<char>('0' + (line[45] - '0' + count) % 10);
      line[46] = static_cast<char>('0' + (line[46] - '0' + 3 * count) % 10);
    }
    lines += line;
    line.clear();
  }
  test::write(folder_ / "tide-gauge.d356", lines + line);
  refuses([&] { return test::isthmus({"inspect", board()}); }, "error", "tide-gauge.d356");
}

TEST_F(BadInput, AFixtureMustNameKnownPointsOnChannelsOfItsOwn) {
  const std::string whole = test::read(fixture());
  edit("fixture.yaml", "{point: U1.13,", "{point: U1.130,");
  refuses([&] { return run_test(); }, "PLN-001", "fixture.yaml:");
  test::write(fixture(), test::with(whole, "      2: {", "      1: {"));
  refuses([&] { return run_test(); }, "YML-", "fixture.yaml:");
}

TEST_F(BadInput, AFixtureOfAnotherStageOrRevisionIsRefused) {
  refuses(
      [&] {
        return run_test("sim:" + bench(), {"--stage", "etched"});
      },
      "PLN-005", "fixture.yaml");
  edit("top.gbr", "G04 ", "G04 revised ");
  refuses([&] { return run_test(); }, "PLN-005", "changed");
}

TEST_F(BadInput, UnknownWordsOnTheCommandLineAreRefused) {
  refuses(
      [&] {
        return run_test("sim:" + bench(), {"--stage", "soldered"});
      },
      "YML-010", "soldered");
  refuses([&] { return run_test("carrier-pigeon:7"); }, "CLI-001", "carrier-pigeon");
  refuses([&] { return run_test("sim:" + (folder_ / "none.yaml").string()); }, "CLI-002",
          "none.yaml");
  refuses([&] { return run_test("sim:" + bench(), {"--no-such-option"}); }, "no-such-option", "");
}

TEST_F(BadInput, LimitsThatProveNothingNeedASay) {
  using Option = std::vector<std::string>;
  for (const Option& lax : {Option{"--limits.continuity", "80 ohm"},
                            {"--limits.isolation", "100 kohm"},
                            {"--limits.excess", "6 ohm"},
                            {"--limits.voltage", "1 mV"},
                            {"--limits.window", "0.05 mm"}}) {
    refuses([&] { return run_test("sim:" + bench(), lax); }, "CLI-050", "--relaxed");
  }
}

// docs/adapter.md, "Cautions".
TEST_F(BadInput, MoreThanThirtyVoltsAreNeverPutOnABoard) {
  refuses(
      [&] {
        return run_test("sim:" + bench(), {"--relaxed", "--limits.voltage", "31 V"});
      },
      "CLI-051", "30 V");
}

TEST_F(BadInput, AStageWithPartsOnIsNotTestedYet) {
  using Words = std::vector<std::string>;
  const Words commands[] = {
      {"inspect", board()},
      {"fixture", board(), "--channels", "64", "--out", folder_ / "new.yaml"},
      {"plan", board(), "--fixture", fixture()},
      {"test", board(), "--fixture", fixture(), "--adapter", "sim:" + bench()},
      {"import", folder_.path(), "--out", folder_ / "new.yaml"},
  };
  for (Words words : commands) {
    words.insert(words.end(), {"--stage", "soldered"});
    refuses([&] { return test::isthmus(words); },
            "stage 'soldered' is not tested yet: parts conduct", "take the parts off");
  }
}

TEST_F(BadInput, AReportFolderThatCannotBeIsToldBeforeAnythingIsMeasured) {
  test::write(folder_ / "afile", "x");
  refuses(
      [&] {
        return run_test("sim:" + bench(), {"--report", folder_ / "afile/x"});
      },
      "RPT-001", "afile");
}

TEST_F(BadInput, ARecordThatIsNoDatabaseIsLeftAlone) {
  test::write(folder_ / "record.db", "my diary");
  EXPECT_EQ(run_test().code, 2);
  EXPECT_EQ(test::read(folder_ / "record.db"), "my diary");
}

TEST_F(BadInput, AnAdapterWithoutAContactCheckIsRefusedWhereThePlanReliesOnIt) {
  edit("bench-mended.yaml", "contact-check: true", "contact-check: false");
  EXPECT_EQ(run_test().code, 2);
}

// Else the run of some other board without a number would be carried over.
TEST_F(BadInput, AGuideThatGoesOnNamesItsBoard) {
  const Ran ran =
      test::isthmus({"guide", board(), "--adapter", "sim:" + bench(), "--no-page", "--resume"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_TRUE(ran.out.empty());
  EXPECT_NE(ran.err.find("CLI-052"), std::string::npos) << ran.err;
}

void expect_link_failure(const Ran& ran) {
  EXPECT_EQ(ran.code, 3) << ran.err;
  const auto j = test::json_of(ran);
  EXPECT_EQ(j["verdict"], "incomplete");
  EXPECT_FALSE(j["untested"].empty());
  EXPECT_NE(ran.err.find("ADP-"), std::string::npos) << ran.err;
}

TEST_F(BadInput, AnAdapterThatIsNotThereIsALinkFailureWithJson) {
  expect_link_failure(run_test("tcp:127.0.0.1:1"));
  expect_link_failure(run_test("pty:/dev/pts/99999"));
  expect_link_failure(run_test("serial:/dev/ttyNONE0"));
}

// Says the same to whatever it hears, or nothing at all.
class Parrot {
 public:
  explicit Parrot(std::string words) : words_(std::move(words)) {
    listener_ = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    bind(listener_, reinterpret_cast<sockaddr*>(&address),
         sizeof address);  // NOLINT: the socket interface
    listen(listener_, 1);
    socklen_t size = sizeof address;
    getsockname(listener_, reinterpret_cast<sockaddr*>(&address),
                &size);  // NOLINT: the socket interface
    port_ = ntohs(address.sin_port);
    thread_ = std::thread([this] { speak(); });
  }
  ~Parrot() {
    shutdown(listener_, SHUT_RDWR);
    thread_.join();
    close(listener_);
  }
  Parrot(const Parrot&) = delete;
  Parrot& operator=(const Parrot&) = delete;
  [[nodiscard]] std::string address() const { return "tcp:127.0.0.1:" + std::to_string(port_); }

 private:
  void speak() const {
    const int link = accept(listener_, nullptr, nullptr);
    if (link < 0) return;
    char buffer[512];
    while (recv(link, buffer, sizeof buffer, 0) > 0) {
      if (!words_.empty()) send(link, words_.data(), words_.size(), MSG_NOSIGNAL);
    }
    close(link);
  }
  std::string words_;
  int listener_{-1};
  int port_{};
  std::thread thread_;
};

TEST_F(BadInput, AnAdapterThatTalksNonsenseOrNothingEndsTheRunInTime) {
  for (const char* words : {"", "what?\n", "1,2,3,4\n\n\x01\x02"}) {
    const Parrot parrot(words);
    const Ran ran = run_test(parrot.address());
    expect_link_failure(ran);  // a run that does not end is killed: code -1
  }
}

TEST_F(BadInput, AnAdapterUnpluggedInMidRunKeepsWhatWasFoundAndEndsWithThree) {
  edit("bench-mended.yaml", "link: {", "link: {unplug-after: 60, ");
  const Ran ran = run_test();
  EXPECT_EQ(ran.code, 3) << ran.err;
  const auto j = test::json_of(ran);
  EXPECT_EQ(j["verdict"], "incomplete");
  EXPECT_GT(j["measurements"].get<int>(), 0);
  const Ran again = test::isthmus({"report", "1", "--record", folder_ / "record.db", "--json"});
  EXPECT_EQ(test::json_of(again)["measurements"], j["measurements"]);
}

TEST_F(BadInput, ALinkThatDropsAndGarblesChangesNothing) {
  edit("bench-mended.yaml", "link: {", "link: {drop: 0.02, garble: 0.02, ");
  const Ran ran = run_test();
  EXPECT_TRUE(ran.code == 0 || ran.code == 3) << ran.out.substr(0, 500);
  EXPECT_TRUE(test::json_of(ran)["findings"].empty());
}

TEST_F(BadInput, ABoardWithVoltageOfItsOwnIsNotMeasured) {
  edit("bench-mended.yaml", "clock: virtual", "clock: virtual\nboard-volts: 3");
  const Ran ran = run_test();
  EXPECT_EQ(ran.code, 4) << ran.err;
  EXPECT_NE(ran.err.find("SES-007"), std::string::npos) << ran.err;
}

TEST_F(BadInput, TipsThatMissLeaveTheRunUnfinished) {
  edit("bench-mended.yaml", "miss: 0.0", "miss: 0.03");
  const Ran ran = run_test();
  EXPECT_EQ(ran.code, 4) << ran.out.substr(0, 1500);
  EXPECT_TRUE(test::json_of(ran)["findings"].empty());
}

TEST_F(BadInput, ImportNeverReplacesAFileUnasked) {
  refuses(
      [&] {
        return test::isthmus({"import", folder_.path(), "--out", board()});
      },
      "CLI-030", "board.yaml");
}

}  // namespace
}  // namespace isthmus
