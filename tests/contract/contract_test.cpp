// SPDX-License-Identifier: Apache-2.0
// The thorough check against the simulator's adapter as it is, and against links that end.
// What is right: docs/adapter.md.
#include <gtest/gtest.h>

#include <regex>

#include "tests/contract/mutated.hpp"

namespace isthmus {
namespace {

using adapter::ContractReport;
using adapter::Holds;
using hostsim::Device;
using test::Mutation;

TEST(Contract, TheSimulatorKeepsIt) {
  const ContractReport report = test::checked({});
  EXPECT_EQ(test::broken(report), "");
  EXPECT_GE(report.count(Holds::yes), 60u);
  EXPECT_EQ(report.count(Holds::not_tried), 0u);
  EXPECT_EQ(report.identity->serial_number, "SIM0001");
}

// docs/adapter.md, Capabilities: with each of them different or left out.
TEST(Contract, TheSimulatorKeepsItWithOtherMeans) {
  for (const char* extra :
       {", wires: 2", ", contact-check: false", ", source-ma: 20, source-v: 3",
        ", noise-uv: 200, offset-uv: 300, drift-uv-per-s: 20", ", switch-leak-na: 4",
        ", switch-ohm: 8, settle-us: 2000, convert-us: 5000"}) {
    EXPECT_EQ(test::broken(test::checked({}, extra)), "") << extra;
  }
}

TEST(Contract, TheSimulatorKeepsItWithFewAndManyChannels) {
  for (const int channels : {2, 64, 256})
    EXPECT_EQ(test::broken(test::checked({}, "", channels)), "") << channels;
}

TEST(Contract, LeavesSwitchesOpen) {
  std::string last;
  Mutation m;
  m.run = [&last](Device& d, const std::string& message) {
    const std::string out = d.run(message);
    last = d.run(":ROUT:CLOS:STAT?");
    return out;
  };
  test::checked(m);
  EXPECT_EQ(last, "(@)");
}

TEST(Contract, StopsWhereTheAdapterFallsSilent) {
  Mutation m;
  m.run = [silent = false](Device& d, const std::string& message) mutable {
    silent |= message.find("MEAS:FRES") != std::string::npos;
    return silent ? std::string() : d.run(message);
  };
  const ContractReport report = test::checked(m);
  ASSERT_TRUE(report.stopped);
  EXPECT_EQ(report.stopped->code, "ADP-022");
}

TEST(Contract, SaysThatNobodyIsThere) {
  Mutation m;
  m.run = [](Device&, const std::string&) { return std::string(); };
  const ContractReport report = test::checked(m);
  ASSERT_TRUE(report.stopped);
  EXPECT_EQ(report.stopped->code, "ADP-020");
  EXPECT_TRUE(report.clauses.empty());
}

// docs/adapter.md, Cautions: above 0.1 V nothing else is measured.
TEST(Contract, DrivesNothingIntoABoardWithABattery) {
  std::string driven;
  Mutation m;
  m.run = [&driven](Device& d, const std::string& message) {
    const std::string out = d.run(message);
    if (std::regex_search(message, std::regex("MEAS:(RES|FRES|ISOL)\\?[^\"]*$")) ||
        message.find("CLOS (@1!1,1!2") != std::string::npos)
      driven += message + "\n";
    return std::regex_replace(out, std::regex("\\),[+-][0-9.]+E-0[0-9],0,#H.{4}"),
                              "),+1.500000E+00,0,#H0000");
  };
  const ContractReport report = test::checked(m);
  ASSERT_TRUE(report.stopped);
  EXPECT_EQ(report.stopped->code, "ADP-028");
  EXPECT_EQ(driven, "");
}

}  // namespace
}  // namespace isthmus
