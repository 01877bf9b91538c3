// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <map>

#include "hostsim/network/bench.hpp"

namespace isthmus::hostsim {
namespace {

Scenario scenario(const std::string& more = {}) {
  return parse_scenario(
             "isthmus: 1\nchannels: 8\nnetwork: {points: {R1.1: a, R1.2: b, J1.1: c}, "
             "resistors: [[a, b, 2], [b, m, 3], [m, c, 4]]}\ncontact: {ohm: 0, spread: 0}\n" +
                 more,
             "sim.yaml")
      .value();
}

formats::FixtureFile fixture(const std::map<formats::Channel, std::string>& probes) {
  formats::FixtureFile f;
  f.path = "fixture.yaml";
  f.channels = 8;
  formats::PlacementEntry placement;
  placement.name = "A";
  for (const auto& [channel, point] : probes) {
    placement.probes[channel].point = point;
    placement.probes[channel].line = 7;
  }
  f.placements.push_back(placement);
  return f;
}

std::string refusal(const Scenario& s, std::optional<formats::FixtureFile> f) {
  const auto bench = make_network_bench(s, std::move(f));
  return bench ? "accepted" : bench.problem().code;
}

double ohm(const Laid& laid, formats::Channel a, formats::Channel b) {
  const Terminal &s = laid.tips.at(static_cast<std::size_t>(a - 1)).at,
                 &t = laid.tips.at(static_cast<std::size_t>(b - 1)).at;
  if (s.conductor < 0 || s.conductor != t.conductor) return -1;
  const Conductor& c = laid.conductors.at(static_cast<std::size_t>(s.conductor));
  const auto z = [&](int i, int j) {
    return c.transfer.at(static_cast<std::size_t>(i * c.terminals + j));
  };
  return z(s.terminal, s.terminal) + z(t.terminal, t.terminal) - 2 * z(s.terminal, t.terminal);
}

TEST(NetworkBench, WithoutAFixtureTouchesThePointsAsWritten) {
  auto bench = make_network_bench(scenario(), std::nullopt).value();
  const Laid laid = bench->at_rest();
  EXPECT_NEAR(ohm(laid, 1, 2), 2, 1e-9);
  EXPECT_NEAR(ohm(laid, 1, 3), 9, 1e-9);  // in series, by way of a node that is no point
  EXPECT_EQ(ohm(laid, 1, 4), -1);
}

TEST(NetworkBench, LaysProbesAndTwinsAsTheFixtureSays) {
  formats::FixtureFile f = fixture({{5, "R1.2"}, {2, "J1.1"}});
  f.placements[0].probes[5].twin = 6;
  auto bench = make_network_bench(scenario(), f).value();
  EXPECT_EQ(ohm(bench->at_rest(), 5, 2), -1);
  const Laid laid = bench->lay("A").value();
  EXPECT_NEAR(ohm(laid, 5, 2), 7, 1e-9);
  EXPECT_NEAR(ohm(laid, 5, 6), 0, 1e-12);
}

TEST(NetworkBench, RefusesWhatItCannotLay) {
  EXPECT_EQ(refusal(scenario(), fixture({{9, "R1.1"}})), "SIM-021");
  EXPECT_EQ(refusal(scenario(), fixture({{1, "R9.1"}})), "SIM-022");
  EXPECT_EQ(refusal(scenario("defects: [{kind: leak, nets: [a, z], ohm: 1e6}]\n"), std::nullopt),
            "SIM-023");
  EXPECT_EQ(make_network_bench(scenario(), fixture({{1, "R1.1"}})).value()->lay("B").problem().code,
            "SIM-020");
  EXPECT_EQ(make_network_bench(scenario(), std::nullopt).value()->lay("A").problem().code,
            "SIM-024");
}

TEST(NetworkBench, NamesThePlaceOfAnUnknownPoint) {
  const auto bench = make_network_bench(scenario(), fixture({{1, "R9.1"}}));
  ASSERT_FALSE(bench);
  EXPECT_EQ(format(bench.problem()),
            "fixture.yaml:7: error SIM-022: the network has no point 'R9.1'\n  hint: add it to "
            "network: points");
}

}  // namespace
}  // namespace isthmus::hostsim
