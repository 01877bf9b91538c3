// SPDX-License-Identifier: Apache-2.0
// The page is the contract: what it prints as an exchange must come out so, to the last digit.
#include "tests/support/adapter_page.hpp"

#include <gtest/gtest.h>

#include "hostsim/device/device.hpp"
#include "hostsim/network/bench.hpp"

namespace isthmus::hostsim {
namespace {

TEST(AdapterPage, ExchangesAreWhatTheSimulatorAnswers) {
  const test::AdapterPage page = test::read_adapter_page();
  ASSERT_GE(page.exchanges.size(), 20u);
  const auto scenario = parse_scenario(page.scenario, "docs/adapter.md");
  ASSERT_TRUE(scenario) << scenario.problem().message;
  const auto bench = make_network_bench(*scenario, std::nullopt);
  ASSERT_TRUE(bench) << bench.problem().message;
  Device device(*scenario, **bench);
  for (const auto& e : page.exchanges)
    EXPECT_EQ(device.run(e.sent), e.response) << "docs/adapter.md:" << e.line << ": " << e.sent;
}

// The comparison by which another adapter is held to the page.
TEST(AdapterPage, ComparisonSeesEveryField) {
  const std::string page = "16,(@1!5),+1.000000E+00,0,#HEE0A";  // the page's worked check
  EXPECT_EQ(test::difference(page, page), "");
  EXPECT_EQ(test::difference(page + ";7", page + ";7"), "");
  for (const char* other :
       {"", "16", "16,(@1!5),+1.000000E+00,0,#HEE0B", "17,(@1!5),+1.000000E+00,0,#HEE0A",
        "16,(@1!6),+1.000000E+00,0,#HEE0A", "16,(@1!5),+1.000000E+00,0,#HEE0A;7"})
    EXPECT_NE(test::difference(page, other), "") << other;
  EXPECT_EQ(test::difference("-113,\"Undefined header;:NO\"", "-113,\"Undefined header\""), "");
  EXPECT_NE(test::difference("-113,\"Undefined header\"", "-102,\"Undefined header\""), "");
  EXPECT_NE(test::difference("(@1!1)", "(@)"), "");
}

}  // namespace
}  // namespace isthmus::hostsim
