// SPDX-License-Identifier: Apache-2.0
// Every error number of docs/adapter.md, provoked (docs/simulator.md, What it plays).
#include <gtest/gtest.h>

#include "hostsim/device/device.hpp"
#include "hostsim/network/bench.hpp"

namespace isthmus::hostsim {
namespace {

class PlaysErrors : public ::testing::Test {
 protected:
  void play(const std::string& adapter = "") {
    auto read = parse_scenario("isthmus: 1\nchannels: 8\nadapter: {buffer: 1024" + adapter +
                                   "}\nnetwork: {points: {A: a}, resistors: []}\n",
                               "b.yaml");
    ASSERT_TRUE(read) << read.problem().message;
    scenario_ = std::move(read).value();
    bench_ = std::move(make_network_bench(scenario_, std::nullopt)).value();
    device_ = std::make_unique<Device>(scenario_, *bench_);
  }
  // The number of the one error that the message leaves.
  int error_of(const std::string& message) {
    device_->run("*CLS");
    device_->run(message);
    return error();
  }
  int error() {
    const std::string first = device_->run(":SYST:ERR?"), second = device_->run(":SYST:ERR?");
    EXPECT_EQ(second, "0,\"No error\"") << first;
    return std::stoi(first);
  }
  Scenario scenario_;
  std::unique_ptr<Bench> bench_;
  std::unique_ptr<Device> device_;
};

TEST_F(PlaysErrors, OfMessages) {
  play(", contact-check: false");
  const std::vector<std::pair<const char*, int>> all{
      {"*OPC?;;*OPC?", -102},
      {":ROUT:CLOS (@)", -102},
      {":SYST:TAG \"a\"", -104},
      {"*RST 1", -108},
      {":MEAS:ISOL?", -109},
      {":NO:SUCH", -113},
      {":SYST:TAG?", -113},
      {":SYST:TAG 1;:ROUT:CLOS (@1!1);:MEAS:CONT?", -113},
      {":SYST:TAG 1;:ROUT:CLOS (@1!1,2!1);:MEAS:RES?", -221},
      {":SYST:TAG 1;:ROUT:CLOS (@1!1,2!2,3!1);:MEAS:FRES?", -221},
      {":ROUT:CLOS (@1!9)", -222},
      {":ROUT:CLOS (@5!1)", -222},
      {":SYST:TAG 0", -222},
      {":ROUT:REF 3", -222},
      {":SOUR:CURR 0.2", -222},
      {":SOUR:VOLT 31", -222},
      {":MEAS:ISOL? 0", -222},
      {"*ESE 256", -222},
      {":SIM:PLAC \"no such\"", -222},
  };
  for (const auto& [message, number] : all) EXPECT_EQ(error_of(message), number) << message;
  play();
  EXPECT_EQ(error_of(":SYST:TAG 1;:ROUT:CLOS (@1!1,1!2);:MEAS:CONT?"), -221);
  play(", wires: 2");
  EXPECT_EQ(error_of(":SYST:TAG 1;:MEAS:FRES?"), -221);
  EXPECT_EQ(error_of(":ROUT:CLOS (@3!1)"), -222);
}

TEST_F(PlaysErrors, OfAMessageTooLong) {
  play();
  device_->message_too_long();
  EXPECT_EQ(error(), -223);
}

// At the command that moves switches, and at each measurement: docs/adapter.md, Errors.
TEST_F(PlaysErrors, OfAStuckSwitch) {
  play(", stuck: [[1, 2, open, seen]]");
  EXPECT_EQ(error_of(":SYST:TAG 1;:ROUT:CLOS (@1!1)"), 0);
  EXPECT_EQ(error_of(":ROUT:CLOS (@1!2)"), -240);
  device_->run("*CLS");
  const std::string answer = device_->run(":MEAS:RES?");
  EXPECT_EQ(answer.substr(0, answer.find("#H")), "1,(@1!1),+9.910000E+37,32,");
  EXPECT_EQ(error(), -240);
}

TEST_F(PlaysErrors, OfAFullQueue) {
  play();
  for (int i = 0; i < 1000; ++i) device_->run(":NO");
  std::string last;
  for (std::string e = device_->run(":SYST:ERR?"); !e.starts_with("0,");
       e = device_->run(":SYST:ERR?"))
    last = e;
  EXPECT_EQ(last, "-350,\"Queue overflow\"");
}

}  // namespace
}  // namespace isthmus::hostsim
