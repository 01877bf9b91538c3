// SPDX-License-Identifier: Apache-2.0
// A bench with a person at it, and a guide that says what the test wants said.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <vector>

#include "hostsim/copper/bench.hpp"
#include "hostsim/device/device.hpp"
#include "hostsim/hand/hand.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::hostsim::test {

// Nets P0...P7: a pad of 0.25 mm at (2 + k/2, 5), a track of 0.15 mm up to a place for a clip at
// (2 + k/2, 9 + k), so that clips are far apart. Q: a lone pad of 2 mm at (12, 5); at (14, 5) an
// unplated hole with a ring of 2 mm on each side, R above, S below; T: a track of 0.4 mm from
// (2, 2) to (42, 2).
constexpr double fine_x(int k) { return 2 + 0.5 * k; }
constexpr double clip_y(int k) { return 9 + k; }

class Rig {
 public:
  // `hand`: keys of the scenario's hand, on one line.
  explicit Rig(const std::string& hand = "", int seed = 1, const std::string& more = "");

  void show(const std::string& event) { EXPECT_TRUE(device_->show(event)) << event; }
  void start(const std::string& needles = R"({"channel":1,"fork":null})") {
    show(R"({"n":1,"event":"start","needles":[)" + needles + "]}");
  }
  // Clips of P0...P7 on channels 11...18, fitted when this returns.
  void clip_all();
  void touch(int number, double x, double y, const std::string& more = "");
  void touch_fine(int number, int k, const std::string& more = "") {
    touch(number, fine_x(k), 5, more);
  }
  void say(const std::string& kind, int touch) {
    show(R"({"n":9,"event":")" + kind + R"(","touch":)" + std::to_string(touch) + "}");
  }

  // Ohms; 9.9e37 over range.
  double resistance(int a, int b) { return measure(a, b, ":MEAS:RES?"); }
  double isolation(int a, int b) { return measure(a, b, ":MEAS:ISOL? 1E7"); }
  bool conduct(int a, int b) { return resistance(a, b) < 60; }
  bool contact(int channel);
  void wait(double seconds) { device_->run(":SIM:WAIT " + std::to_string(seconds)); }
  double time() { return std::stod(device_->run(":SIM:TIM?")); }
  // Seconds until the two conduct, looked at every 2 ms; -1: not within the time.
  double until_conducting(int a, int b, double most = 60);

  // With one needle and all clips, the first touch is of P0: seconds until it conducts to its clip.
  double land_on_first() {
    start();
    clip_all();
    touch_fine(1, 0);
    return until_conducting(1, 11);
  }

  std::vector<std::string> answers;

 private:
  double measure(int a, int b, const std::string& how);

  isthmus::test::TempDir folder_;
  std::unique_ptr<Scenario> scenario_;
  std::unique_ptr<Bench> bench_;
  std::unique_ptr<Device> device_;
  std::unique_ptr<Hand> hand_;
};

// Clips at those places, in the form of the event's list.
std::string clip_at(int channel, double x, double y, const std::string& side = "top");

}  // namespace isthmus::hostsim::test
