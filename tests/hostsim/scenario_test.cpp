// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/scenario.hpp"

#include <gtest/gtest.h>

namespace isthmus::hostsim {
namespace {

constexpr const char* kNetwork =
    "isthmus: 1\nnetwork: {points: {U1.1: a, U1.2: b}, resistors: [[a, b, 0.35]]}\n";
constexpr const char* kBoard = "isthmus: 1\nboard: etched/board.yaml\n";

Result<Scenario> read(const std::string& text) { return parse_scenario(text, "bench/sim.yaml"); }

std::string refusal(const std::string& text) {
  const auto s = read(text);
  if (s) return "accepted";
  const Problem& p = s.problem();
  return p.code + "@" + std::to_string(p.line) + ":" + std::to_string(p.column);
}

TEST(Scenario, ReadsANetwork) {
  const auto s = read(kNetwork);
  ASSERT_TRUE(s);
  ASSERT_EQ(s->network->points.size(), 2u);
  EXPECT_EQ(s->network->points[1], (std::pair<std::string, std::string>("U1.2", "b")));
  EXPECT_DOUBLE_EQ(s->network->resistors.at(0).ohm, 0.35);
}

TEST(Scenario, TakesTheBoardBesideItself) {
  EXPECT_EQ(read(kBoard)->board, std::filesystem::path("bench/etched/board.yaml"));
}

TEST(Scenario, ReadsEveryKindOfDefect) {
  const auto s = read(std::string(kBoard) + R"(
defects:
  - {kind: open,   at: [12.3, 4.5], side: top, diameter: 0.4}
  - {kind: bridge, from: [10.0, 5.0], to: [10.6, 5.0], side: top, width: 0.1}
  - {kind: neck,   at: [30.1, 8.0], side: L2, width: 0.02, length: 1.0}
  - {kind: leak,   at: [14.0, 9.0], side: top, nets: [SDA, SCL], ohm: 1.2e6, volts-exponent: 2, drift-per-s: 0.1}
  - {kind: whisker, from: [20.0, 5.0], to: [20.3, 5.0], side: bottom, ohm: 300}
  - {kind: no-join, at: [22.1, 9.4]}
drawn:
  - {kind: no-join, at: [1, 2], side: bottom}
)");
  ASSERT_TRUE(s) << format(s.problem());
  ASSERT_EQ(s->defects.size(), 6u);
  EXPECT_EQ(s->defects[0].at, position_mm(12.3, 4.5));
  EXPECT_EQ(s->defects[1].to, position_mm(10.6, 5.0));
  EXPECT_EQ(s->defects[2].side, "L2");
  EXPECT_DOUBLE_EQ(s->defects[3].volts_exponent, 2);
  EXPECT_DOUBLE_EQ(s->defects[4].ohm, 300);
  EXPECT_FALSE(s->defects[5].side.has_value());
  EXPECT_EQ(s->drawn.size(), 1u);
}

TEST(Scenario, ReadsTheAdapterInTheUnitsOfItsKeys) {
  const auto s = read(
      std::string(kBoard) +
      "adapter: {wires: 2, source-ma: 10, switch-leak-na: 2, noise-uv: 5, settle-us: 7, "
      "stuck: [[1, 3, open], [2, 4, closed, seen]]}\nlink: {latency-us: 250, unplug-after: 9}\n");
  ASSERT_TRUE(s) << format(s.problem());
  EXPECT_DOUBLE_EQ(s->adapter.source_a, 0.01);
  EXPECT_DOUBLE_EQ(s->adapter.switch_leak_a, 2e-9);
  EXPECT_DOUBLE_EQ(s->adapter.settle_s, 7e-6);
  EXPECT_FALSE(s->adapter.stuck.at(0).closed);
  EXPECT_TRUE(s->adapter.stuck.at(1).seen);
  EXPECT_DOUBLE_EQ(s->link.latency_s, 250e-6);
  EXPECT_EQ(s->link.unplug_after, 9);
}

TEST(Scenario, RefusesAnUnknownKeyAndNamesTheNearest) {
  const auto s = read(std::string(kBoard) + "chanels: 8\n");
  ASSERT_FALSE(s);
  EXPECT_EQ(format(s.problem()),
            "bench/sim.yaml:3:1: error SIM-002: unknown key 'chanels' in the scenario\n  chanels: "
            "8\n  ^\n  "
            "hint: did you mean 'channels'?");
}

TEST(Scenario, RefusesWhatIsWrongAtItsPlace) {
  const std::string board = kBoard;
  EXPECT_EQ(refusal("isthmus: [1\n"), "SIM-001@2:1");
  EXPECT_EQ(refusal(board + "adapter: {wire: 2}\n"), "SIM-002@3:11");
  EXPECT_EQ(refusal("isthmus: 1\n"), "SIM-003@1:1");
  EXPECT_EQ(refusal(board + "network: {points: {A: a}}\n"), "SIM-003@1:1");
  EXPECT_EQ(refusal(board + "seed: seven\n"), "SIM-004@3:7");
  EXPECT_EQ(refusal(board + "contact: {ohm: 50 mohm}\n"), "SIM-004@3:16");
  EXPECT_EQ(refusal(board + "clock: real\nclock: real\n"), "SIM-005@4:1");
  EXPECT_EQ(refusal(board + "channels: 257\n"), "SIM-006@3:11");
  EXPECT_EQ(refusal(board + "adapter: {wires: 3}\n"), "SIM-006@3:18");
  EXPECT_EQ(refusal(board + "adapter: {source-v: 31}\n"), "SIM-006@3:21");
  EXPECT_EQ(refusal(board + "defects: [{kind: scratch}]\n"), "SIM-006@3:18");
  EXPECT_EQ(refusal(board + "defects: [{kind: open, at: [1, 2], diameter: 1}]\n"), "SIM-003@3:11");
  EXPECT_EQ(refusal(std::string(kNetwork) + "defects: [{kind: open}]\n"), "SIM-007@3:18");
  EXPECT_EQ(refusal("isthmus: 2\nboard: b.yaml\n"), "SIM-008@1:10");
}

TEST(Scenario, SaysThatAFileCannotBeRead) {
  const auto s = read_scenario("no/such/scenario.yaml");
  ASSERT_FALSE(s);
  EXPECT_EQ(s.problem().code, "SIM-009");
}

}  // namespace
}  // namespace isthmus::hostsim
