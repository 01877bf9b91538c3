// SPDX-License-Identifier: Apache-2.0
// What the bench plays, key by key (docs/simulator.md, What it plays): whole runs on a sound board,
// none of which may find a fault that is not there, or pass what could not be seen.
#include <gtest/gtest.h>

#include <fstream>
#include <regex>
#include <sstream>

#include "tests/pipeline/line_run.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using test::LineRun;
using test::Ran;

Ran with_adapter(const std::string& keys) {
  LineRun run;
  run.adapter = keys;
  return run.run();
}
Ran with_link(const std::string& keys) {
  LineRun run;
  run.more = "link: {" + keys + "}\n";
  return run.run();
}
Ran with_fixture(const std::string& keys) {
  LineRun run;
  run.of_copper = true;
  run.more = "fixture: {" + keys + "}\n";
  return run.run();
}

void expect_pass(const Ran& ran) { EXPECT_EQ(ran.code, 0) << ran.out.substr(0, 1500) << ran.err; }
// Nothing is claimed that was not seen.
void expect_doubt(const Ran& ran) {
  EXPECT_EQ(ran.code, 4) << ran.out.substr(0, 1500) << ran.err;
  EXPECT_TRUE(test::json_of(ran)["findings"].empty());
}
void expect_refused(const Ran& ran, const std::string& code) {
  EXPECT_EQ(ran.code, 2) << ran.out;
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find(code), std::string::npos) << ran.err;
}

TEST(PlaysAdapter, Wires) { expect_pass(with_adapter("wires: 2")); }
TEST(PlaysAdapter, SourceMa) { expect_pass(with_adapter("source-ma: 20")); }
TEST(PlaysAdapter, SourceV) { expect_refused(with_adapter("source-v: 5"), "SES-004"); }
TEST(PlaysAdapter, SwitchOhm) {
  expect_pass(with_adapter("switch-ohm: 40, source-ma: 20"));  // 80 ohm at 20 mA: 1.6 V
  // Two wires cannot tell switches from copper (docs/adapter.md, Weaknesses), and say no fault.
  expect_doubt(with_adapter("wires: 2, switch-ohm: 6"));
}
TEST(PlaysAdapter, SwitchLeakNa) {
  expect_pass(with_adapter("switch-leak-na: 5"));
  expect_refused(with_adapter("switch-leak-na: 40"), "SES-020");    // 2 u is 6.4 Mohm of 10
  expect_refused(with_adapter("switch-leak-na: 1000"), "SES-005");  // OHMS 1 Mohm
}
TEST(PlaysAdapter, NoiseUv) {
  expect_pass(with_adapter("noise-uv: 100"));
  expect_doubt(with_adapter("noise-uv: 20000"));
  expect_refused(with_adapter("noise-uv: 200000"), "SES-020");
}
TEST(PlaysAdapter, OffsetUv) { expect_pass(with_adapter("offset-uv: 3000, noise-uv: 0")); }
TEST(PlaysAdapter, DriftUvPerS) { expect_pass(with_adapter("drift-uv-per-s: 200")); }
TEST(PlaysAdapter, HumUv) { expect_doubt(with_adapter("hum-uv: 8000, convert-us: 5000")); }
TEST(PlaysAdapter, Stuck) {
  // Of switches that the plan uses; channel 1 is a source, 2 and 3 are returns.
  for (const char* how : {"[1, 1, open]", "[2, 2, open]", "[1, 2, closed]", "[2, 2, closed]",
                          "[1, 1, open, seen]", "[3, 1, open]"}) {
    SCOPED_TRACE(how);
    expect_doubt(with_adapter("stuck: [" + std::string(how) + "]"));
  }
  // A.1 and A.2 cannot be read to each other; A.1 to A.3 can, and that current ran through the pad of
  // A.2, whose tip the contact check proves.
  expect_pass(with_adapter("stuck: [[4, 2, open]]"));
  LineRun cut;
  cut.adapter = "stuck: [[4, 2, open]]";
  cut.resistors = "[a2, a3, 0.01], [b1, b2, 0.02]";
  EXPECT_NE(cut.run().code, 0);
  // It does not open when asked to: nothing is begun.
  EXPECT_EQ(with_adapter("stuck: [[2, 2, closed, seen]]").code, 3);
}
// Relays of 0.1 ohm whose sense contact is stuck: an open net then conducts through the sense row,
// and hardly more than copper would.
TEST(PlaysAdapter, StuckSenseSwitchHidesNoOpen) {
  for (const char* how : {"[3, 1, closed]", "[3, 2, closed]", "[3, 3, closed]", "[4, 1, closed]",
                          "[4, 2, closed]", "[4, 3, closed]"}) {
    LineRun run;
    run.adapter = "switch-ohm: 0.05, stuck: [" + std::string(how) + "]";
    run.resistors = "[a1, a2, 0.01], [b1, b2, 0.02]";  // A.3 is open
    const Ran ran = run.run();
    EXPECT_TRUE(ran.code == 1 || ran.code == 4) << how << ran.out.substr(0, 300);
  }
}

TEST(PlaysAdapter, SettleUsAndConvertUs) {
  expect_pass(with_adapter("settle-us: 20000, convert-us: 50000"));
}
TEST(PlaysAdapter, ContactCheck) {
  expect_refused(with_adapter("contact-check: false"), "SES-003");
}
TEST(PlaysAdapter, References) {
  for (const char* ohms : {"[]", "[5]", "[10, 1e6, 1e7]"})
    expect_pass(with_adapter("references: " + std::string(ohms)));
}
TEST(PlaysAdapter, Buffer) { expect_pass(with_adapter("buffer: 1024")); }
TEST(PlaysAdapter, MainsIntegration) { expect_pass(with_adapter("mains-integration: false")); }
TEST(PlaysAdapter, HumWithoutMainsIntegration) {
  expect_doubt(with_adapter("mains-integration: false, hum-uv: 400000, offset-uv: 0"));
}
TEST(PlaysAdapter, Discharge) { expect_doubt(with_adapter("discharge: false")); }

TEST(PlaysLink, LatencyUs) { expect_pass(with_link("latency-us: 50000")); }
TEST(PlaysLink, Drop) { expect_pass(with_link("drop: 0.1")); }
TEST(PlaysLink, Garble) { expect_pass(with_link("garble: 0.1")); }
TEST(PlaysLink, Stall) { expect_pass(with_link("stall: 0.1")); }
TEST(PlaysLink, UnplugAfter) {
  const Ran ran = with_link("unplug-after: 7");
  EXPECT_EQ(ran.code, 3) << ran.err;
  EXPECT_EQ(test::json_of(ran)["verdict"], "incomplete");
}

TEST(PlaysFixture, AsMade) { expect_pass(with_fixture("shift: [0, 0]")); }
TEST(PlaysFixture, Shift) { expect_doubt(with_fixture("shift: [5, 0]")); }
TEST(PlaysFixture, Turn) { expect_doubt(with_fixture("turn: 90")); }
TEST(PlaysFixture, Mirror) { expect_doubt(with_fixture("mirror: true, shift: [0, 1]")); }
TEST(PlaysFixture, AimMm) {
  expect_pass(with_fixture("aim-mm: 0.05"));
  expect_doubt(with_fixture("aim-mm: 0.6"));
}

// Every key of the three, and every error number of the page, has its row, and each row's test is
// there.
TEST(Plays, AreAllInTheTableAndTested) {
  const auto slurp = [](const std::filesystem::path& file) {
    std::ostringstream text;
    text << std::ifstream(file).rdbuf();
    return text.str();
  };
  const std::string page = slurp(test::source_dir() / "docs" / "simulator.md");
  const auto from = page.find("## What it plays"), to = page.find("\n## ", from + 1);
  ASSERT_NE(from, std::string::npos);
  const std::string table = page.substr(from, to - from);
  for (const char* key : {"wires",          "source-ma",    "source-v",  "switch-ohm",
                          "switch-leak-na", "noise-uv",     "offset-uv", "drift-uv-per-s",
                          "hum-uv",         "stuck",        "settle-us", "convert-us",
                          "contact-check",  "references",   "buffer",    "mains-integration",
                          "discharge",      "latency-us",   "drop",      "garble",
                          "stall",          "unplug-after", "shift",     "turn",
                          "mirror",         "aim-mm"}) {
    EXPECT_NE(table.find("`" + std::string(key)), std::string::npos) << key;
  }
  const std::string contract = slurp(test::source_dir() / "docs" / "adapter.md");
  const auto errors = contract.find("### Errors");
  const std::string numbers = contract.substr(errors, contract.find("###", errors + 1) - errors);
  const std::regex number("-[1-3][0-9]{2}\\b");
  for (std::sregex_iterator i(numbers.begin(), numbers.end(), number), end; i != end; ++i)
    EXPECT_NE(table.find(i->str()), std::string::npos) << i->str();
  std::string tests;
  for (const char* folder : {"pipeline", "hostsim", "contract"}) {
    for (const auto& file :
         std::filesystem::directory_iterator(test::source_dir() / "tests" / folder))
      tests += slurp(file.path());
  }
  const std::regex named("`([A-Z]\\w+)\\.(\\w+)`");
  std::size_t rows = 0;
  for (std::sregex_iterator i(table.begin(), table.end(), named), end; i != end; ++i, ++rows) {
    EXPECT_TRUE(std::regex_search(
        tests, std::regex("TEST(_F)?\\(" + (*i)[1].str() + ", " + (*i)[2].str() + "\\)")))
        << i->str();
  }
  EXPECT_GE(rows, 30u);
}

}  // namespace
}  // namespace isthmus
