// SPDX-License-Identifier: Apache-2.0
// `hand:` of a scenario: docs/simulator.md.
#include <gtest/gtest.h>

#include "hostsim/scenario/scenario.hpp"

namespace isthmus::hostsim {
namespace {

Result<Scenario> parse(const std::string& hand) {
  return parse_scenario("isthmus: 1\nnetwork: {points: {A: a}}\nchannels: 8\nhand:\n" + hand + "\n",
                        "sim.yaml");
}

TEST(HandKeys, AreRead) {
  const HandDraw h = parse(
                         "  pace: 1.5\n  aim-mm: 0.08\n  tarnish: 0.1\n  tarnish-ohm: [2, 9]\n"
                         "  hum-uv: 300\n  pf: 90\n  clip-falls-after: [[3, 8]]")
                         .value()
                         .hand;
  EXPECT_EQ(h.pace, 1.5);
  EXPECT_EQ(h.aim_mm, 0.08);
  EXPECT_EQ(h.tarnish, 0.1);
  EXPECT_EQ(h.tarnish_ohm.high, 9);
  EXPECT_DOUBLE_EQ(h.hum_v, 300e-6);
  EXPECT_DOUBLE_EQ(h.farad, 90e-12);
  EXPECT_EQ(h.clip_falls_after, (std::vector<std::pair<long, int>>{{3, 8}}));
}

TEST(HandKeys, AreStrict) {
  const auto refused = [](const std::string& hand) {
    const Problem p = parse(hand).problem();
    return p.code + " at " + std::to_string(p.line) + ":" + std::to_string(p.column);
  };
  EXPECT_EQ(refused("  aim: 1"), "SIM-002 at 5:3");
  EXPECT_EQ(refused("  miss: 2"), "SIM-006 at 5:9");
  EXPECT_EQ(refused("  miss: often"), "SIM-004 at 5:9");
  EXPECT_EQ(refused("  skin-mohm: 3"), "SIM-004 at 5:14");
  EXPECT_EQ(refused("  skin-mohm: [3, 1]"), "SIM-006 at 5:14");
  EXPECT_EQ(refused("  clip-falls-after: [[1, 9]]"), "SIM-006 at 5:22");
  EXPECT_EQ(refused("  clip-falls-after: [4]"), "SIM-004 at 5:22");
  EXPECT_EQ(refused("  pace: 1\n  pace: 2"), "SIM-005 at 6:3");
}

}  // namespace
}  // namespace isthmus::hostsim
