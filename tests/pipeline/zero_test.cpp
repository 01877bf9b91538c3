// SPDX-License-Identifier: Apache-2.0
// Leads and switches measured on bare copper and taken off: what two wires can then tell, and when
// a zero no longer holds.
#include <gtest/gtest.h>

#include "tests/pipeline/line_board.hpp"

namespace isthmus {
namespace {

using test::Folder;

// Every tip has a lead of its own.
const char* const kPoints =
    "  points: {A.1: t1, A.2: t2, A.3: t3, B.1: t4, B.2: t5, C.1: t6}\n  resistors: "
    "[[t1, a1, 0.1], [t2, a2, 0.8], [t3, a3, 0.3], [t4, b1, 1.5], [t5, b2, 0.2], [t6, c1, 0.6], ";
// All tips on one piece of copper.
const char* const kBareCopper =
    "[a1, a2, 1e-5], [a1, a3, 1e-5], [a1, b1, 1e-5], [a1, b2, 1e-5], [a1, c1, 1e-5]]\n";
const char* const kGood = "[a1, a2, 0.01], [a2, a3, 0.01], [b1, b2, 0.02]]\n";
const char* const kNecked = "[a1, a2, 0.01], [a2, a3, 0.9], [b1, b2, 0.02]]\n";

class ZeroRun : public ::testing::Test {
 protected:
  void SetUp() override { test::write_line_board(folder_); }

  std::string bench(const std::string& resistors, int wires, int seed = 2) {
    const auto file = folder_ / ("bench" + std::to_string(++benches_) + ".yaml");
    test::write(file, "isthmus: 1\nchannels: 8\nseed: " + std::to_string(seed) +
                          "\nclock: virtual\nadapter: {wires: " + std::to_string(wires) +
                          ", switch-ohm: 1.5, contact-check: true}\nnetwork:\n" + kPoints +
                          resistors);
    return "sim:" + file.string();
  }
  test::Ran zero(const std::string& resistors, int wires, const std::string& out = "zero.json") {
    return test::isthmus({"zero", "--fixture", folder_ / "f.yaml", "--adapter",
                          bench(resistors, wires), "--out", folder_ / out});
  }
  test::Ran measure(const std::string& resistors, int wires, bool zeroed) {
    std::vector<std::string> words{
        "test",      folder_ / "board.yaml",  "--fixture", folder_ / "f.yaml",
        "--adapter", bench(resistors, wires), "--record",  folder_ / "r.db",
        "--json"};
    if (zeroed) words.insert(words.end(), {"--zero", folder_ / "zero.json"});
    return test::isthmus(words);
  }
  // Each channel's ohms in the file, changed.
  void change(const std::function<void(nlohmann::json&)>& how) {
    auto j = nlohmann::json::parse(test::read(folder_ / "zero.json"));
    how(j);
    test::write(folder_ / "zero.json", j.dump());
  }
  Folder folder_;
  int benches_{};
};

TEST_F(ZeroRun, TwoWiresSeeAnOhmTooManyOnlyWithoutTheirSwitches) {
  ASSERT_EQ(zero(kBareCopper, 2).code, 0);
  EXPECT_EQ(measure(kNecked, 2, false).code, 0);  // 3 ohm of switches hide it: nothing is said
  const auto j = test::json_of(measure(kNecked, 2, true));
  ASSERT_EQ(j["findings"].size(), 1U);
  EXPECT_EQ(j["findings"][0]["kind"], "high-resistance");
  EXPECT_NEAR(j["findings"][0]["measured_ohm"].get<double>(), 0.91 + 0.1, 0.06);
  EXPECT_EQ(measure(kGood, 2, true).code, 0);
}

TEST_F(ZeroRun, FourWiresReadWithItAsWithout) {
  ASSERT_EQ(zero(kBareCopper, 4).code, 0);
  EXPECT_EQ(measure(kGood, 4, true).code, 0);
  EXPECT_EQ(measure(kNecked, 4, true).code, 1);
}

TEST_F(ZeroRun, IsSaidInTheReport) {
  ASSERT_EQ(zero(kBareCopper, 2).code, 0);
  const auto ran = measure(kGood, 2, true);
  EXPECT_NE(ran.out.find("leads and switches are taken off"), std::string::npos) << ran.out;
}

TEST_F(ZeroRun, AZeroThatMakesReadingsLessThanNothingIsVoid) {
  ASSERT_EQ(zero(kBareCopper, 2).code, 0);
  change([](nlohmann::json& j) {
    for (auto& placement : j["placements"]) {
      for (auto& channel : placement) channel[0] = channel[0].get<double>() + 0.6;
    }
  });
  const auto ran = measure(kGood, 2, true);
  EXPECT_EQ(ran.code, 4) << ran.out << ran.err;
  EXPECT_NE((ran.out + ran.err).find("SES-030"), std::string::npos) << ran.out << ran.err;
}

TEST_F(ZeroRun, AZeroOfAnotherFixtureOrAdapterOrTimeIsRefused) {
  ASSERT_EQ(zero(kBareCopper, 2).code, 0);
  const std::string taken = test::read(folder_ / "zero.json");
  const auto refused = [&](const char* key, const char* value, const char* code) {
    test::write(folder_ / "zero.json", taken);
    change([&](nlohmann::json& j) { j[key] = value; });
    const auto ran = measure(kGood, 2, true);
    EXPECT_EQ(ran.code, 2) << key;
    EXPECT_NE(ran.err.find(code), std::string::npos) << ran.err;
    EXPECT_EQ(ran.out, "");
  };
  refused("adapter", "another", "CLI-081");
  refused("fixture", "another", "CLI-081");
  refused("taken", "2026-01-01T12:00:00Z", "CLI-082");
  refused("taken", "2099-01-01T12:00:00Z", "CLI-082");
  refused("taken", "yesterday", "CLI-080");
  refused("placements", "none", "CLI-080");
}

TEST_F(ZeroRun, AZeroOnOtherWiresOrWithoutAChannelIsRefused) {
  ASSERT_EQ(zero(kBareCopper, 4).code, 0);
  auto ran = measure(kGood, 2, true);
  EXPECT_EQ(ran.code, 2);
  EXPECT_NE(ran.err.find("SES-031"), std::string::npos) << ran.err;
  change([](nlohmann::json& j) {
    for (auto& placement : j["placements"]) placement.erase(placement.begin().key());
  });
  ran = measure(kGood, 4, true);
  EXPECT_EQ(ran.code, 2);
  EXPECT_NE(ran.err.find("SES-031"), std::string::npos) << ran.err;
}

TEST_F(ZeroRun, TipsOffTheCopperGiveNoZero) {
  const auto ran = zero("[a1, a2, 1e-5], [a1, a3, 1e-5], [a1, b1, 1e-5], [a1, b2, 1e-5]]\n", 2);
  EXPECT_EQ(ran.code, 4);
  EXPECT_NE(ran.err.find("SES-033"), std::string::npos) << ran.err;
  EXPECT_FALSE(std::filesystem::exists(folder_ / "zero.json"));
}

TEST_F(ZeroRun, AFileThatIsNoZeroIsRefused) {
  for (const char* text : {"", "{", "[]", R"({"isthmus_zero": 2})", "\xff\xfe"}) {
    test::write(folder_ / "zero.json", text);
    const auto ran = measure(kGood, 2, true);
    EXPECT_EQ(ran.code, 2) << text;
    EXPECT_NE(ran.err.find("CLI-080"), std::string::npos) << ran.err;
  }
}

}  // namespace
}  // namespace isthmus
