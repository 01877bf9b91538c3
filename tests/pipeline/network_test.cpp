// SPDX-License-Identifier: Apache-2.0
// The board behind the simulator is a hand-written resistor netlist: nothing of it was ever a
// drawing.
#include <gtest/gtest.h>

#include "tests/pipeline/line_board.hpp"

namespace isthmus {
namespace {

using test::Folder;

nlohmann::json measure(const Folder& folder, const std::string& resistors, int code) {
  test::write(folder / "bench.yaml",
              "isthmus: 1\nchannels: 8\nseed: 2\nclock: virtual\nadapter: {wires: 4, "
              "contact-check: true}\nnetwork:\n"
              "  points: {A.1: a1, A.2: a2, A.3: a3, B.1: b1, B.2: b2, C.1: c1}\n  resistors: [" +
                  resistors + "]\n");
  const auto ran = test::isthmus({"test", folder / "board.yaml", "--fixture", folder / "f.yaml",
                                  "--adapter", "sim:" + (folder / "bench.yaml").string(),
                                  "--record", folder / "r.db", "--json"});
  EXPECT_EQ(ran.code, code) << ran.out.substr(0, 1500) << ran.err;
  return test::json_of(ran);
}

class Network : public ::testing::Test {
 protected:
  void SetUp() override { test::write_line_board(folder_); }
  Folder folder_;
};

const char* const kGood = "[a1, a2, 0.01], [a2, a3, 0.01], [b1, b2, 0.02]";

TEST_F(Network, AsDesignedPasses) {
  const auto j = measure(folder_, kGood, 0);
  EXPECT_EQ(j["coverage"]["tested"], 6);
}

TEST_F(Network, AMissingResistorIsAnOpen) {
  const auto j = measure(folder_, "[a1, a2, 0.01], [b1, b2, 0.02]", 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "open");
  EXPECT_EQ(j["findings"][0]["parts"], nlohmann::json::parse(R"([["A.1","A.2"],["A.3"]])"));
}

TEST_F(Network, AResistorBetweenNetsIsABridgeOrALeak) {
  auto j = measure(folder_, std::string(kGood) + ", [a2, b1, 47]", 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "bridge");
  EXPECT_EQ(j["findings"][0]["nets"], nlohmann::json::parse(R"(["AFT","BOW"])"));
  EXPECT_NEAR(j["findings"][0]["measured_ohm"].get<double>(), 47.1, 0.3);  // two contacts of 0.05
  j = measure(folder_, std::string(kGood) + ", [b2, c1, 2.2e6]", 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "leakage");
  EXPECT_NEAR(j["findings"][0]["measured_ohm"].get<double>(), 2.2e6, 0.05e6);
}

TEST_F(Network, AnOhmTooManyIsHighResistance) {
  const auto j = measure(folder_, "[a1, a2, 0.01], [a2, a3, 0.9], [b1, b2, 0.02]", 1);
  ASSERT_EQ(j["findings"].size(), 1u);
  EXPECT_EQ(j["findings"][0]["kind"], "high-resistance");
  EXPECT_EQ(j["findings"][0]["nets"], nlohmann::json::parse(R"(["AFT"])"));
}

}  // namespace
}  // namespace isthmus
