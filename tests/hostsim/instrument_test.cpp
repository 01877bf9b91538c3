// SPDX-License-Identifier: Apache-2.0
// The meter against circuits solved by hand. Channels: 1 a, 2 b, 3 c, 4 d; a-b 2 ohm, c-d 3 ohm ||
// 6 ohm.
#include "hostsim/device/instrument.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <memory>

#include "hostsim/network/bench.hpp"

namespace isthmus::hostsim {
namespace {

const std::string kBoard =
    "isthmus: 1\nchannels: 8\nnetwork: {points: {A: a, B: b, C: c, D: d}, "
    "resistors: [[a, b, 2], [c, d, 3], [c, d, 6]]}\n";
const std::string kQuiet = "contact: {ohm: 0.1, spread: 0}\n";
const std::string kIdeal = "switch-leak-na: 0, noise-uv: 0, offset-uv: 0, drift-uv-per-s: 0";

// The meter's 10 Mohm lie beside 2.2 ohm, behind two switches: 2.2 * (2.2 + 8) / 1e7, rounded up.
constexpr double kMeterLoad = 4e-6;

struct Rig {
  explicit Rig(const std::string& adapter = kIdeal, const std::string& more = kQuiet)
      : scenario(
            parse_scenario(kBoard + more + "adapter: {" + adapter + "}\n", "sim.yaml").value()),
        bench(make_network_bench(scenario, std::nullopt).value()),
        meter(scenario.adapter, scenario.channels, scenario.seed, false) {
    meter.lay(bench->at_rest());
  }
  Instrument& close(std::vector<Crosspoint> points) {
    meter.begin_step();
    meter.close(points);
    return meter;
  }
  Scenario scenario;
  std::unique_ptr<Bench> bench;
  Instrument meter;
};

TEST(TwoWire, AddsSwitchesAndContacts) {
  Rig rig;
  const Reading r = rig.close({{1, 1}, {2, 2}}).two_wire();
  EXPECT_NEAR(r.value, 2 + 2 * 4 + 2 * 0.1, 1e-9);
  EXPECT_EQ(r.status, 0);
}

TEST(FourWire, LeavesTheSwitchesOut) {
  Rig rig;
  const Reading r = rig.close({{1, 3}, {2, 4}, {3, 3}, {4, 4}}).four_wire();
  EXPECT_NEAR(r.value, 2 + 2 * 0.1, kMeterLoad);  // 3 || 6 = 2
}

// The meter's input lies across the sense rows: 10 Mohm, hence the tolerance.
TEST(FourWire, LeavesTheContactsOutWhenSensedElsewhere) {
  Rig rig(kIdeal, "contact: {ohm: 0.1, spread: 0}\n");
  Laid laid;
  laid.tips.resize(8);
  for (int c = 0; c < 4; ++c) laid.tips[static_cast<std::size_t>(c)] = {{0, c}, 5.0};
  // A chain 0 -1ohm- 1 -2ohm- 2 -1ohm- 3, against terminal 0: Z(i,j) = R(0, min(i,j)).
  laid.conductors = {{4, {0, 0, 0, 0, 0, 1, 1, 1, 0, 1, 3, 3, 0, 1, 3, 4}, 0}};
  rig.meter.lay(laid);
  EXPECT_NEAR(rig.close({{1, 1}, {2, 4}, {3, 2}, {4, 3}}).four_wire().value, 2.0, 1e-5);
}

TEST(FourWire, CancelsTheOffsetThatTwoWiresKeep) {
  Rig rig("switch-leak-na: 0, noise-uv: 0, offset-uv: 900, drift-uv-per-s: 0");
  EXPECT_NEAR(rig.close({{1, 1}, {2, 2}, {3, 1}, {4, 2}}).four_wire().value, 2.2, kMeterLoad);
  EXPECT_NEAR(rig.close({{1, 1}, {2, 2}}).two_wire().value, 10.2 + 900e-6 / 0.1, 1e-9);
}

// Drift between the halves stays: half the drift of one conversion over the current.
TEST(FourWire, KeepsTheDriftBetweenItsHalves) {
  Rig rig("switch-leak-na: 0, noise-uv: 0, offset-uv: 0, drift-uv-per-s: 100000");
  const double error = 0.1 * 400e-6 / (2 * 0.1);
  EXPECT_NEAR(rig.close({{1, 1}, {2, 2}, {3, 1}, {4, 2}}).four_wire().value, 2.2 - error,
              kMeterLoad);
}

// Bounds: docs/simulator.md, The meter. Two wires read the drift over the current.
TEST(TwoWire, DriftsWithinItsBoundsHoweverLongItTakes) {
  for (const double sign : {1.0, -1.0}) {
    Rig rig("switch-leak-na: 0, noise-uv: 0, offset-uv: 0, drift-uv-per-s: " +
            std::to_string(sign * 3));
    rig.close({{1, 1}, {2, 2}});
    EXPECT_NEAR(rig.meter.two_wire().value, 10.2, 1e-6);
    double least = 1, most = -1;
    for (int i = 0; i < 720; ++i) {
      rig.meter.wait(10);
      const double volts = sign * (rig.meter.two_wire().value - 10.2) * 0.1;
      if (i < 9) {
        EXPECT_NEAR(volts, 3e-5 * (i + 1), 1e-6) << "at its pace";
      }
      least = std::min(least, volts);
      most = std::max(most, volts);
    }
    EXPECT_NEAR(most, 3e-4, 1e-5);
    EXPECT_NEAR(least, -3e-4, 1e-5);
  }
}

TEST(FourWire, ScattersByTheNoise) {
  Rig rig("switch-leak-na: 0, noise-uv: 100, offset-uv: 0, drift-uv-per-s: 0");
  rig.close({{1, 1}, {2, 2}, {3, 1}, {4, 2}});
  double sum = 0, squares = 0;
  constexpr int kReadings = 2000;
  for (int i = 0; i < kReadings; ++i) {
    const double e = rig.meter.four_wire().value - 2.2;
    sum += e;
    squares += e * e;
  }
  // Two halves of 100 uV each: sqrt(2) 100 uV / (2 x 0.1 A) = 0.707 mohm; 5 sigma of the estimate.
  EXPECT_NEAR(std::sqrt(squares / kReadings), 0.7071e-3,
              5 * 0.7071e-3 / std::sqrt(2.0 * kReadings));
  EXPECT_NEAR(sum / kReadings, 0, 5 * 0.7071e-3 / std::sqrt(1.0 * kReadings));
}

TEST(FourWire, SaysWhenItsHalvesDisagree) {
  Rig rig("noise-uv: 0, hum-uv: 4000, convert-us: 5000");
  rig.meter.source_amps =
      0.01;  // 22 mV: hum of 4 mV, a quarter period apart, is too much beside it
  EXPECT_NE(rig.close({{1, 1}, {2, 2}, {3, 1}, {4, 2}}).four_wire().status & kStatusHalvesDisagree,
            0);
}

TEST(SourceLimit, MakesAnOpenOverRange) {
  Rig rig;
  const Reading r = rig.close({{1, 1}, {2, 3}, {3, 1}, {4, 3}}).four_wire();
  EXPECT_DOUBLE_EQ(r.value, kOverRange);
  EXPECT_EQ(r.status, kStatusOverRange | kStatusSourceLimit);
}

// 10 V at 0.1 A: a loop of more than 100 ohm is beyond the source, at a smaller current it is not.
TEST(SourceLimit, FollowsTheCurrent) {
  Rig rig(kIdeal + ", switch-ohm: 60");
  EXPECT_EQ(rig.close({{1, 1}, {2, 2}}).two_wire().status, kStatusOverRange | kStatusSourceLimit);
  rig.meter.source_amps = 0.01;
  EXPECT_NEAR(rig.close({{1, 1}, {2, 2}}).two_wire().value, 122.2, 1e-9);
}

TEST(Isolation, ReadsALeakThroughItsRangeResistor) {
  Rig rig(kIdeal, kQuiet + "defects: [{kind: leak, nets: [a, c], ohm: 1.2e6}]\n");
  const Reading r = rig.close({{1, 1}, {2, 3}}).isolation(1e7);
  EXPECT_NEAR(r.value, 1.2e6, 1.2e6 * 1e-4);
  EXPECT_EQ(r.status, 0);
}

// 1e8 ohm behind a range resistor of 1e6 at 5 V: 50 mV lie across that resistor. Hum of 4 mV is 8 %
// of it at its peak, and nothing over a whole period of the mains.
TEST(Isolation, IsReadOverAWholeMainsPeriod) {
  const std::string leak = kQuiet + "defects: [{kind: leak, nets: [a, c], ohm: 1e8}]\n";
  const std::string hum =
      "noise-uv: 0, offset-uv: 0, drift-uv-per-s: 0, hum-uv: 4000, switch-leak-na: 0, settle-us: "
      "1200, convert-us: 5000";
  Rig rig(hum, leak);
  const Reading r = rig.close({{1, 1}, {2, 3}}).isolation(1e7);
  EXPECT_NEAR(r.value, 1e8, 1e8 * 2e-3);
  EXPECT_EQ(r.status & kStatusHalvesDisagree, 0);
  Rig hasty(hum + ", mains-integration: false", leak);
  hasty.close({{1, 1}, {2, 3}});
  int said = 0;  // at whatever phase of the hum they come
  for (int i = 0; i < 8; ++i) said |= hasty.meter.isolation(1e7).status;
  EXPECT_NE(said & kStatusHalvesDisagree, 0);
}

TEST(Isolation, IsDischargedAfterwards) {
  const std::string leak = kQuiet + "defects: [{kind: leak, nets: [a, c], ohm: 1e6}]\n";
  Rig rig(kIdeal, leak);
  rig.close({{1, 1}, {2, 3}}).isolation(1e7);
  EXPECT_LT(std::abs(rig.meter.volts().value),
            0.01);  // docs/adapter.md, A reference circuit: 10 mV
  Rig charged(kIdeal + ", discharge: false", leak);
  charged.close({{1, 1}, {2, 3}}).isolation(1e7);
  EXPECT_GT(charged.meter.volts().value, 1);
  charged.meter.isolation(1e7);
  EXPECT_NE(charged.meter.two_wire().status & kStatusOwnVoltage, 0);
}

TEST(Isolation, SeesTheLeakageOfOpenSwitches) {
  Rig rig("noise-uv: 0, offset-uv: 0, drift-uv-per-s: 0, switch-leak-na: 100, wires: 2",
          kQuiet + "defects: [{kind: leak, nets: [a, c], ohm: 1e7}]\n");
  // a and b on row 1, c on row 2. 100 nA at 10 V is 100 Mohm a switch. Beside the leak lie 2!1, 2!2
  // and 1!3 directly, 1!4 through d, which hangs on c, and two switches in series at each of
  // channels 5 to 8.
  const double siemens = 1e-7 + (3 + 1 + 4 * 0.5) / 1e8;
  EXPECT_NEAR(rig.close({{1, 1}, {1, 2}, {2, 3}}).isolation(1e7).value, 1 / siemens,
              0.001 / siemens);
}

TEST(Isolation, OfAShortReadsItsLoop) {
  Rig rig;
  EXPECT_NEAR(rig.close({{1, 1}, {2, 2}}).isolation(1e7).value, 10.2, 0.3);
}

TEST(Isolation, FollowsTheExponentOfALeak) {
  // Current as the square of the voltage: at 10 V 1 Mohm, at V it is 10 Mohm V / V^2.
  Rig rig(kIdeal, kQuiet + "defects: [{kind: leak, nets: [a, c], ohm: 1e6, volts-exponent: 2}]\n");
  rig.meter.source_volts = 10;
  const double low =
      rig.close({{1, 1}, {2, 3}}).isolation(1e4).value;  // range resistor 1 kohm: all 10 V
  rig.meter.source_volts = 5;
  const double half =
      rig.close({{1, 1}, {2, 3}}).isolation(1e4).value;  // half the voltage: twice the ohms
  EXPECT_NEAR(low, 1e6, 2e4);
  EXPECT_NEAR(half, 2e6, 4e4);
}

TEST(Isolation, DriftsWithTime) {
  Rig rig(kIdeal, kQuiet + "defects: [{kind: leak, nets: [a, c], ohm: 1e6, drift-per-s: 0.5}]\n");
  rig.meter.wait(2.0);
  EXPECT_NEAR(rig.close({{1, 1}, {2, 3}}).isolation(1e7).value, 2e6, 2e4);
}

TEST(OwnVoltage, IsMeasuredAndMarked) {
  Rig rig(kIdeal, kQuiet + "board-volts: 1.5\n");
  EXPECT_NEAR(rig.close({{1, 1}, {2, 3}}).volts().value, 1.5, 1e-3);
  EXPECT_NE(rig.close({{1, 1}, {2, 3}, {3, 1}, {4, 3}}).four_wire().status & kStatusOwnVoltage, 0);
  EXPECT_NE(rig.close({{1, 1}, {2, 3}}).isolation(1e7).status & kStatusOwnVoltage, 0);
}

TEST(Contact, FollowsTheTipAndItsSwitch) {
  Rig rig(kIdeal + ", stuck: [[1, 2, open]]");
  EXPECT_EQ(rig.close({{1, 1}}).contact().value, 1);
  EXPECT_EQ(rig.close({{1, 2}}).contact().value, 0);  // the switch never closes
  EXPECT_EQ(rig.close({{2, 2}}).contact().value, 1);
  EXPECT_EQ(rig.close({{1, 7}}).contact().value, 0);  // a tip over nothing
}

TEST(StuckSwitch, OpenLooksLikeAnOpenBoard) {
  Rig rig(kIdeal + ", stuck: [[1, 1, open]]");
  EXPECT_EQ(rig.close({{1, 1}, {2, 2}}).two_wire().status, kStatusOverRange | kStatusSourceLimit);
  EXPECT_EQ(rig.meter.closed(), (std::vector<Crosspoint>{{1, 1}, {2, 2}}));
}

TEST(StuckSwitch, ClosedLooksLikeABridge) {
  Rig rig(kIdeal + ", stuck: [[2, 1, closed]]");
  // Channel 1 stays on row 2: row 1 - switch - tip 2 - a-b - tip 1 - switch - row 2.
  EXPECT_NEAR(rig.close({{1, 2}, {2, 3}}).isolation(1e7).value, 10.2, 0.3);
}

TEST(StuckSwitch, OnASenseRowReadsZeroVolts) {
  Rig rig(kIdeal + ", stuck: [[3, 1, open]]");
  const Reading r = rig.close({{1, 1}, {2, 2}, {3, 1}, {4, 2}}).four_wire();
  EXPECT_NEAR(r.value, 0, 1e-6);
  EXPECT_EQ(r.status, 0);
}

TEST(References, ReadTheirOwnValue) {
  Rig rig;
  rig.meter.begin_step();
  rig.meter.set_reference(1);
  EXPECT_NEAR(rig.meter.four_wire().value, 10, 1e-3);
  EXPECT_NEAR(rig.meter.two_wire().value, 10, 1e-3);
  rig.meter.set_reference(2);
  EXPECT_NEAR(rig.meter.isolation(1e7).value, 1e7, 1e4);
}

TEST(Misses, TouchNothing) {
  Rig rig(kIdeal, "contact: {ohm: 0.1, spread: 0, miss: 1}\n");
  EXPECT_EQ(rig.close({{1, 1}}).contact().value, 0);
  EXPECT_EQ(rig.close({{1, 1}, {2, 2}}).two_wire().status, kStatusOverRange | kStatusSourceLimit);
}

std::vector<double> some_readings(const std::string& seed) {
  Rig rig("noise-uv: 100", "contact: {ohm: 0.1, spread: 0.9, miss: 0.2}\nseed: " + seed + "\n");
  std::vector<double> values;
  for (int i = 0; i < 5; ++i) values.push_back(rig.close({{1, 1}, {2, 2}}).two_wire().value);
  return values;
}

TEST(Seed, DecidesEveryReading) {
  EXPECT_EQ(some_readings("3"), some_readings("3"));
  EXPECT_NE(some_readings("3"), some_readings("4"));
}

}  // namespace
}  // namespace isthmus::hostsim
