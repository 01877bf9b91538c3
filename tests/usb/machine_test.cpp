// SPDX-License-Identifier: Apache-2.0
// The programs as they are, on a kernel's real USB, in a virtual machine: tests/usb/machine boots
// it, tests/usb/story.sh happens in it. Oracles: for what must be found, the same scenario over a
// pseudo-terminal of this machine; for the simulator's USBTMC, the kernel's own driver.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <optional>
#include <sstream>

#include "tests/pipeline/line_board.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using nlohmann::json;
using test::Folder;

// An open, a bridge and a good third net.
const std::string kBench =
    "isthmus: 1\nchannels: 8\nseed: 42\nclock: virtual\nadapter: {wires: 4, contact-check: true}\n"
    "link: {latency-us: 1000}\nnetwork:\n"
    "  points: {A.1: a1, A.2: a2, A.3: a3, B.1: b1, B.2: b2, C.1: c1}\n"
    "  resistors: [[a1, a2, 0.01], [b1, b2, 0.02], [a2, b1, 47]]\n";

struct Times {
  double pulled{}, noticed{}, over{};
};

class Story {
 public:
  // False when there is no such machine here; why() then says so.
  bool play(bool full) {
    test::write_line_board(folder_);
    test::write(folder_ / "bench.yaml", kBench);
    test::write(folder_ / "slow.yaml", test::with(test::with(kBench, "virtual", "real"), "wires: 4",
                                                  "wires: 4, settle-us: 20000, convert-us: 50000"));
    test::write(folder_ / "poor.yaml",
                test::with(kBench, "latency-us: 1000", "garble: 0.1, drop: 0.1, stall: 0.02"));
    if (full) add_full();
    const test::Background simulator(
        test::simulator_program(),
        {folder_ / "bench.yaml", "--fixture", folder_ / "f.yaml", "--pty"});
    expected_ = test::json_of(test::isthmus(
        {"test", folder_ / "board.yaml", "--fixture", folder_ / "f.yaml", "--adapter",
         simulator.first_line(), "--record", (folder_ / "host.db").string(), "--json"}));
    std::filesystem::remove(folder_ / "host.db");
    const std::filesystem::path usb = test::source_dir() / "tests/usb";
    std::vector<std::string> arguments{usb / "story.sh", folder_.path(), test::isthmus_program(),
                                       test::simulator_program()};
    if (std::filesystem::exists(folder_ / "rules")) arguments.push_back("/bin/udevadm");
    ran_ = test::run(usb / "machine", arguments, std::chrono::seconds(900));
    return ran_.code != 77;
  }
  [[nodiscard]] const test::Ran& ran() const { return ran_; }
  [[nodiscard]] std::string text(const std::string& name) const {
    return test::read(folder_ / name);
  }
  [[nodiscard]] json of(const std::string& name) const {
    return json::parse(text(name + ".json"), nullptr, false);
  }
  [[nodiscard]] int code(const std::string& name) const {
    std::istringstream in(text(name + ".code"));
    int out = -1;
    in >> out;
    return out;
  }
  [[nodiscard]] Times times(const std::string& name) const {
    std::istringstream in(text(name + ".times"));
    Times out;
    in >> out.pulled >> out.noticed >> out.over;
    return out;
  }
  [[nodiscard]] bool has(const std::string& name) const {
    return std::filesystem::exists(folder_ / name);
  }

  // The same findings as over the pseudo-terminal: kinds, nets, parts; resistances to 2 %.
  void expect_same_findings(const std::string& name) const {
    const json got = of(name);
    ASSERT_FALSE(got.is_discarded()) << name << ": " << text(name + ".err");
    EXPECT_EQ(code(name), 1) << name << ": " << text(name + ".err");
    EXPECT_EQ(got["verdict"], expected_["verdict"]) << name;
    EXPECT_EQ(got["coverage"], expected_["coverage"]) << name;
    ASSERT_EQ(got["findings"].size(), expected_["findings"].size()) << name;
    for (std::size_t i = 0; i < got["findings"].size(); ++i) {
      const json &g = got["findings"][i], &e = expected_["findings"][i];
      for (const char* key : {"kind", "nets", "parts"}) EXPECT_EQ(g[key], e[key]) << name;
      const double ohm = e["measured_ohm"].get<double>();
      EXPECT_NEAR(g["measured_ohm"].get<double>(), ohm, 0.02 * ohm) << name;
    }
  }

  // Broken off: incomplete, whatever was found by then.
  void expect_broken_off(const std::string& name) const {
    const json got = of(name);
    ASSERT_FALSE(got.is_discarded()) << name << ": " << text(name + ".err");
    EXPECT_EQ(code(name), 3) << name << ": " << text(name + ".err");
    EXPECT_EQ(got["verdict"], "incomplete") << name;
    EXPECT_NE(text(name + ".err").find("ADP-0"), std::string::npos) << text(name + ".err");
  }
  [[nodiscard]] std::size_t findings() const { return expected_["findings"].size(); }

 private:
  void add_full() {
    test::write(folder_ / "full", "");
    const std::filesystem::path system = "/usr/lib/udev/rules.d/50-udev-default.rules";
    test::run(test::source_dir() / "hostsim/install", {"udev"});
    if (!std::filesystem::exists("/bin/udevadm") || !std::filesystem::exists(system)) return;
    std::filesystem::create_directory(folder_ / "rules");
    std::filesystem::copy(system, folder_ / "rules");
    std::filesystem::copy(test::source_dir() / "src/adapter/70-isthmus.rules", folder_ / "rules");
  }

  Folder folder_;
  test::Ran ran_;
  json expected_;
};

// The machine has two serial ports of its own.
json on_usb(const json& list) {
  json out = json::array();
  for (const json& one : list) {
    if (one["device"] != "/dev/ttyS0" && one["device"] != "/dev/ttyS1") out.push_back(one);
  }
  return out;
}

void judge_the_links(const Story& s) {
  EXPECT_EQ(on_usb(s.of("none")), json::array());
  const json list = on_usb(s.of("adapters"));
  ASSERT_EQ(list.size(), 2U) << list;
  EXPECT_EQ(list[0]["address"], "serial:@SIM0042");
  EXPECT_EQ(list[0]["device"], "/dev/ttyACM0");
  EXPECT_EQ(list[1]["address"], "usb:1209:0001:SIM0042");
  for (const json& one : list) {
    EXPECT_EQ(one["maker"], "Isthmus Simulated Bench");
    EXPECT_EQ(one["model"], "Isthmus Mux");
    EXPECT_EQ(one["serial"], "SIM0042");
    EXPECT_EQ(one["why_not"], "");
  }
  EXPECT_EQ(s.text("kernel.txt"), "Isthmus Simulated Bench,Mux-8,SIM0042,1.0\n");
  ASSERT_EQ(s.findings(), 2U);
  s.expect_same_findings("usb");
  s.expect_same_findings("serial");
}

void judge_a_pull(const Story& s, const std::string& name) {
  s.expect_broken_off(name);
  EXPECT_NE(s.text(name + ".err").find("ADP-010"), std::string::npos) << s.text(name + ".err");
  // The contract promises a second; times are the machine's own, in hundredths.
  const Times t = s.times(name);
  ::testing::Test::RecordProperty(name + "-noticed-ms",
                                  static_cast<int>((t.noticed - t.pulled) * 1000));
  ::testing::Test::RecordProperty(name + "-over-ms", static_cast<int>((t.over - t.pulled) * 1000));
  EXPECT_GT(t.pulled, 0) << name;
  EXPECT_LT(t.noticed - t.pulled, 1.0) << name;
}

void judge_the_pulls(const Story& s) {
  judge_a_pull(s, "pulled-usb");
  judge_a_pull(s, "pulled-serial");
  s.expect_same_findings("resumed-serial");
}

#define ISTHMUS_PLAY(story, full)                         \
  Story story;                                            \
  if (!story.play(full)) GTEST_SKIP() << story.ran().err; \
  ASSERT_EQ(story.ran().code, 0) << story.ran().err;      \
  EXPECT_FALSE(story.has("trouble.txt")) << story.text("trouble.txt")

TEST(Gadget, SaysWhatIsMissingWhereThereIsNoController) {
  if (std::filesystem::exists("/sys/class/udc") && !std::filesystem::is_empty("/sys/class/udc"))
    GTEST_SKIP() << "this machine has a USB device controller";
  const Folder folder;
  test::write(folder / "bench.yaml", kBench);
  const test::Ran ran = test::run(test::simulator_program(), {folder / "bench.yaml", "--gadget"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find("SIM-032"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("dummy_hcd"), std::string::npos) << ran.err;
}

TEST(UsbMachine, TestsABoardOverBothLinksAndNoticesAPulledCable) {
  ISTHMUS_PLAY(s, false);
  judge_the_links(s);
  judge_the_pulls(s);
}

TEST(UsbMachine, SurvivesWhatHappensToCablesAndPrograms) {
  ISTHMUS_SKIP_IF_SLOW(true);
  ISTHMUS_PLAY(s, true);
  judge_the_links(s);
  judge_the_pulls(s);

  const json nobody = on_usb(s.of("nobody"));
  ASSERT_EQ(nobody.size(), 2U);
  for (const json& one : nobody) {
    const std::string why = one["why_not"];
    EXPECT_NE(why.find("not allowed"), std::string::npos) << why;
    EXPECT_NE(why.find("70-isthmus.rules"), std::string::npos) << why;
  }
  EXPECT_NE(s.text("nobody-usb.txt").find("ADP-004"), std::string::npos)
      << s.text("nobody-usb.txt");
  if (s.has("rules")) {
    for (const char* file : {"udev-usb.txt", "udev-tty.txt"})
      EXPECT_NE(s.text(file).find("\nTAGS=:uaccess:\n"), std::string::npos) << s.text(file);
  }
  s.expect_same_findings("lent");
  EXPECT_EQ(s.text("driver.txt"), "1\n");  // given back to the kernel's driver

  for (const std::string link : {"usb", "serial"}) {
    s.expect_same_findings("first-" + link);
    EXPECT_EQ(s.code("second-" + link), 3);
    EXPECT_NE(s.text("second-" + link + ".err").find("ADP-005"), std::string::npos);
    for (int n = 1; n <= 3; ++n) s.expect_same_findings("poor-" + link + "-" + std::to_string(n));
    for (const int n : {3, 6, 7, 8, 9, 10, 12}) {
      const std::string name = "after-" + std::to_string(n) + "-" + link;
      if (s.code(name) != 1) s.expect_broken_off(name);
    }
  }
  const json busy = on_usb(s.of("busy-usb"));
  EXPECT_NE(busy[1]["why_not"].get<std::string>().find("another program"), std::string::npos);
  s.expect_broken_off("killed");
  s.expect_same_findings("after-killed");
  for (const std::string n : {"1", "8", "14"}) {
    judge_a_pull(s, "moment-" + n);
    s.expect_same_findings("anew-" + n);
    s.expect_same_findings("resumed-" + n);
  }
}

}  // namespace
}  // namespace isthmus
