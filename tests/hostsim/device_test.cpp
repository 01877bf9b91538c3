// SPDX-License-Identifier: Apache-2.0
// The command language: docs/adapter.md, line by line.
#include "hostsim/device/device.hpp"

#include <fmt/core.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>
#include <sstream>

#include "hostsim/device/crc.hpp"
#include "hostsim/network/bench.hpp"

namespace isthmus::hostsim {
namespace {

// Channels 1..5 on a-b-b-c-d; a-b 0.35 ohm, b-c 1 ohm, d alone.
constexpr const char* kBench =
    "isthmus: 1\nchannels: 64\n"
    "network: {points: {U1.1: a, R1.1: b, R1.2: b, J1.1: c, J1.2: d}, resistors: [[a, b, 0.35], "
    "[b, c, 1]]}\n";

struct Rig {
  explicit Rig(const std::string& more = {})
      : scenario(parse_scenario(kBench + more, "sim.yaml").value()),
        bench(make_network_bench(scenario, std::nullopt).value()),
        device(scenario, *bench) {}
  std::string operator()(const std::string& message) { return device.run(message); }
  std::string error() { return device.run(":SYST:ERR?"); }
  Scenario scenario;
  std::unique_ptr<Bench> bench;
  Device device;
};

struct Answer {
  std::string tag, list, check;
  double value{};
  int status{};
};

// Takes one answer apart and proves its check.
Answer parse_answer(const std::string& text) {
  Answer a;
  const std::size_t open = text.find(','), close = text.find("),"), hash = text.rfind("#H");
  a.tag = text.substr(0, open);
  a.list = text.substr(open + 1, close - open);
  std::istringstream rest(text.substr(close + 2));
  char comma = 0;
  rest >> a.value >> comma >> a.status;
  EXPECT_EQ(text.substr(hash), fmt::format("#H{:04X}", crc16(text.substr(0, hash)))) << text;
  return a;
}

TEST(AdapterLanguage, IdentifiesItselfInFourFields) {
  Rig rig;
  const std::string id = rig("*IDN?");
  EXPECT_EQ(std::count(id.begin(), id.end(), ','), 3);
}

TEST(AdapterLanguage, NamesItsCapabilities) {
  Rig rig;
  EXPECT_EQ(
      rig(":SYST:CAP?"),
      "\"CONTRACT 1;CHANNELS 64;WIRES 4;CONTACT 1;REFERENCES 10|1E7;SOURCE 0.1;VOLTAGE 10;OHMS "
      "1E9;LEAKAGE 1E-10;NOISE 2E-05;SETTLE 0.00015;CONVERT 0.0004;BUFFER 4096;SIMULATED 1\"");
  EXPECT_EQ(rig("SYSTem:VERSion?"), "1999.0");
}

// The worked exchange's first message, with this bench's channels.
TEST(AdapterLanguage, AnswersTheWorkedExchangeInForm) {
  Rig rig;
  const std::string reply =
      rig(":SYST:TAG 16;:ROUT:CLOS (@1!1);:MEAS:CONT?;:SYST:TAG 17;:ROUT:CLOS "
          "(@1!1,3!1,2!4,4!4);:MEAS:FRES?");
  const std::size_t cut = reply.find(";17,");
  ASSERT_NE(cut, std::string::npos) << reply;
  EXPECT_EQ(reply.substr(0, cut),
            fmt::format("16,(@1!1),+1.000000E+00,0,#H{:04X}", crc16("16,(@1!1),+1.000000E+00,0,")));
  const Answer a = parse_answer(reply.substr(cut + 1));
  EXPECT_EQ(a.list, "(@1!1,2!4,3!1,4!4)");
  EXPECT_EQ(a.status, 0);
  EXPECT_NEAR(a.value, 1.35, 0.16);  // two contacts of 0.05 ohm within 50 % besides
}

TEST(AdapterLanguage, AnswersAnIsolationOverRange) {
  Rig rig;
  const std::string body = "18,(@1!1,1!2,1!3,2!5),+9.900000E+37,1,";
  EXPECT_EQ(rig(":SYST:TAG 18;:ROUT:CLOS (@1!1:1!3,2!5);:MEAS:ISOL? 1E7"),
            body + fmt::format("#H{:04X}", crc16(body)));
}

TEST(AdapterLanguage, ReadsBackABlockInCanonicalOrder) {
  Rig rig;
  EXPECT_EQ(rig(":ROUT:CLOS (@2!2,1!3:2!4);:ROUT:CLOS:STAT?"), "(@1!3,1!4,2!2,2!3,2!4)");
  EXPECT_EQ(rig(":ROUT:OPEN (@1!3:2!4);:ROUT:CLOS:STAT?"), "(@2!2)");
  EXPECT_EQ(rig(":ROUT:OPEN:ALL;:ROUT:CLOS:STAT?"), "(@)");
}

TEST(AdapterLanguage, StaysInTheSubtreeWithoutAColon) {
  Rig rig;
  EXPECT_EQ(rig(":ROUT:CLOS (@1!1);*OPC;OPEN (@1!1);CLOS:STAT?"), "(@)");
  EXPECT_EQ(rig(":SOUR:CURR 0.01;VOLT 2;CURR?;:SOUR:VOLT?"), "+1.000000E-02;+2.000000E+00");
  EXPECT_EQ(rig(":SOUR:CURR:LEV 0.02;LEV?"), "+2.000000E-02");
  EXPECT_EQ(rig.error(), "0,\"No error\"");
}

TEST(AdapterLanguage, TakesLongAndShortFormsInAnyCase) {
  Rig rig;
  rig("system:tag 5;:ROUTe:CLOSe (@1!1)");
  EXPECT_EQ(parse_answer(rig("meas:cont?")).tag, "5");
}

TEST(AdapterLanguage, BeginsAStepWithAllSwitchesOpen) {
  Rig rig;
  EXPECT_EQ(rig(":ROUT:CLOS (@1!1);:ROUT:REF 1;:SYST:TAG 3;:ROUT:CLOS:STAT?"), "(@)");
  EXPECT_EQ(parse_answer(rig(":MEAS:FRES?")).status, 32);  // no reference either: row 1 is empty
}

TEST(AdapterLanguage, ResetsToItsDefaults) {
  Rig rig;
  EXPECT_EQ(
      rig(":SYST:TAG 9;:SOUR:CURR 0.01;:ROUT:CLOS (@1!1);*RST;:ROUT:CLOS:STAT?;:SOUR:CURR?;VOLT?"),
      "(@);+1.000000E-01;+5.000000E+00");
  EXPECT_EQ(parse_answer(rig(":MEAS:VOLT?")).tag, "0");
}

struct ErrorCase {
  const char* message;
  const char* number;
};

class AdapterErrors : public ::testing::TestWithParam<ErrorCase> {};

TEST_P(AdapterErrors, GiveTheNumberOfThePage) {
  Rig rig;
  rig(GetParam().message);
  const std::string error = rig.error();
  EXPECT_EQ(error.substr(0, error.find(',')), GetParam().number)
      << GetParam().message << " -> " << error;
  EXPECT_EQ(rig.error(), "0,\"No error\"");
}

INSTANTIATE_TEST_SUITE_P(
    Page, AdapterErrors,
    ::testing::Values(ErrorCase{":ROUT:CLOS (@1!", "-102"}, ErrorCase{"*CLS;", "-102"},
                      ErrorCase{":ROUT:CLOS 5", "-104"}, ErrorCase{":SYST:TAG \"1\"", "-104"},
                      ErrorCase{":SIM:PLAC 5", "-104"}, ErrorCase{":SYST:TAG 1,2", "-108"},
                      ErrorCase{"*RST 1", "-108"}, ErrorCase{":SYST:TAG", "-109"},
                      ErrorCase{":SOUR:CURR", "-109"}, ErrorCase{":SYST:BEEP", "-113"},
                      ErrorCase{"*FOO?", "-113"}, ErrorCase{":SYST:TAG?", "-113"},
                      ErrorCase{":SYST", "-113"}, ErrorCase{":ROUT:CLOS (@1!65)", "-222"},
                      ErrorCase{":ROUT:CLOS (@5!1)", "-222"},
                      ErrorCase{":ROUT:CLOS (@0!1)", "-222"}, ErrorCase{":SYST:TAG 0", "-222"},
                      ErrorCase{":SYST:TAG 2147483648", "-222"}, ErrorCase{":SYST:TAG 1.5", "-222"},
                      ErrorCase{":SOUR:CURR 0.11", "-222"}, ErrorCase{":SOUR:VOLT 10.5", "-222"},
                      ErrorCase{":SOUR:CURR 0", "-222"}, ErrorCase{":ROUT:REF 3", "-222"},
                      ErrorCase{"*ESE 256", "-222"}, ErrorCase{":MEAS:ISOL? -1", "-222"},
                      ErrorCase{":SIM:PLAC \"Z\"", "-222"}, ErrorCase{":MEAS:FRES?", "-221"},
                      ErrorCase{":MEAS:CONT?", "-221"},
                      ErrorCase{":ROUT:CLOS (@3!1);:MEAS:CONT?", "-221"},
                      ErrorCase{":ROUT:CLOS (@1!1,2!1);:MEAS:RES?", "-221"}));

TEST(AdapterLanguage, StillAnswersAMeasurementItRefuses) {
  Rig rig;
  for (const char* query :
       {":MEAS:FRES?", ":MEAS:CONT?", ":MEAS:ISOL?", ":MEAS:ISOL? \"x\"", ":MEAS:ISOL? (@",
        ":MEAS:RES? 1", ":MEAS:LUCK?", ":ROUT:CLOS (@1!1,2!1);:MEAS:ISOL? 1E7"}) {
    const Answer a = parse_answer(rig(query));
    EXPECT_DOUBLE_EQ(a.value, 9.91e37) << query;
    EXPECT_EQ(a.status, 32) << query;
  }
}

TEST(AdapterLanguage, ClosesNothingOfAFaultyList) {
  Rig rig;
  EXPECT_EQ(rig(":ROUT:CLOS (@1!1,1!65);:ROUT:CLOS:STAT?"), "(@)");
}

TEST(AdapterLanguage, RefusesSenseRowsAndContactItDoesNotHave) {
  Rig rig("adapter: {wires: 2, contact-check: false}\n");
  rig(":ROUT:CLOS (@3!1)");
  EXPECT_TRUE(rig.error().starts_with("-222"));
  EXPECT_EQ(parse_answer(rig(":MEAS:FRES?")).status, 32);
  EXPECT_TRUE(rig.error().starts_with("-221"));
  EXPECT_EQ(parse_answer(rig(":ROUT:CLOS (@1!1);:MEAS:CONT?")).status, 32);
  EXPECT_TRUE(rig.error().starts_with("-113"));
}

TEST(AdapterLanguage, ReportsAReadBackThatIsNotTheCommand) {
  Rig rig("adapter: {stuck: [[1, 3, open, seen]]}\n");
  EXPECT_EQ(rig("*TST?"), "1");
  const Answer a = parse_answer(rig(":ROUT:CLOS (@1!3,2!5);:MEAS:RES?"));
  EXPECT_EQ(a.list, "(@2!5)");
  EXPECT_EQ(a.status, 32);
  EXPECT_TRUE(rig.error().starts_with("-240"));
}

TEST(AdapterLanguage, QueuesErrorsAndMarksTheOverflow) {
  Rig rig;
  for (int i = 0; i < 20; ++i) rig(":NO:SUCH");
  std::string last, error;
  int count = 0;
  while ((error = rig.error()) != "0,\"No error\"") {
    last = error;
    ++count;
  }
  EXPECT_GE(count, 8);
  EXPECT_EQ(last, "-350,\"Queue overflow\"");
}

TEST(AdapterLanguage, RefusesAMessageLongerThanItsBuffer) {
  Rig rig;
  rig.device.message_too_long();
  EXPECT_TRUE(rig.error().starts_with("-223"));
}

// IEEE 488.2: -1xx sets CME (32), -2xx EXE (16); power-on 128; summary bits of the status byte.
TEST(StatusRegisters, FollowTheStandard) {
  Rig rig;
  EXPECT_EQ(rig("*ESR?"), "128");
  rig(":NO:SUCH;:SYST:TAG 0;*OPC");
  EXPECT_EQ(rig("*ESE 48;*SRE 32;*STB?"),
            "100");  // error queue 4, event summary 32, service request 64
  EXPECT_EQ(rig("*ESE?;*SRE?"), "48;32");
  EXPECT_EQ(rig("*ESR?;*ESR?"), "49;0");
  EXPECT_EQ(rig("*CLS;*OPC?;*STB?"), "1;16");  // an answer is waiting
}

TEST(Simulator, HasNoHashesForANetwork) {
  Rig rig;
  EXPECT_EQ(rig(":SIM:HASH?"), "\"\"");
}

TEST(Simulator, CountsTimeWithoutWaiting) {
  Rig rig;
  rig(":SYST:TAG 1;:ROUT:CLOS (@1!1);:MEAS:CONT?");
  // TAG settles once, CONTact settles and converts once.
  EXPECT_NEAR(std::stod(rig(":SIM:TIM?")), 2 * 150e-6 + 400e-6, 1e-9);
}

}  // namespace
}  // namespace isthmus::hostsim
