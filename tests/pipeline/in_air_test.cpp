// SPDX-License-Identifier: Apache-2.0
// Whole runs with wires that touch each other: on the board they would look like copper. Oracle: the
// scenario says which touch.
#include <regex>

#include "tests/pipeline/line_run.hpp"

namespace isthmus {
namespace {

class InAir : public ::testing::Test {
 protected:
  // The channels of two points in the fixture.
  std::string touching(const std::string& a, const std::string& b) {
    const std::string f = test::read(run_.folder / "f.yaml");
    const auto channel = [&](const std::string& point) {
      std::smatch found;
      const std::regex form("([0-9]+): *[{]?(?:point: *)?" + point + "\\b");
      EXPECT_TRUE(std::regex_search(f, found, form)) << f;
      return found[1].str();
    };
    return "touching: [[" + channel(a) + ", " + channel(b) + ", 0.1]]";
  }
  test::LineRun run_;
};

TEST_F(InAir, AGoodHarnessIsNoRemark) {
  const auto ran = run_.run();
  EXPECT_EQ(ran.code, 0) << ran.out << ran.err;
  EXPECT_EQ(ran.out.find("in the air"), std::string::npos) << ran.out;
}

// A.1 and A.2 are of one net, which is open between them.
TEST_F(InAir, WiresOfOneNetThatTouchHideNoOpen) {
  run_.resistors = "[a2, a3, 0.01], [b1, b2, 0.02]";
  EXPECT_EQ(run_.run().code, 1);
  run_.adapter = touching("A.1", "A.2");
  const auto ran = run_.run();
  EXPECT_EQ(ran.code, 4) << ran.out;
  EXPECT_NE(ran.err.find("SES-034"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("(A.1)"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("(A.2)"), std::string::npos) << ran.err;
}

TEST_F(InAir, WiresOfTwoNetsThatTouchAreNoBridge) {
  run_.adapter = touching("A.3", "B.2");
  const auto ran = run_.run();
  EXPECT_EQ(ran.code, 4) << ran.out;
  EXPECT_TRUE(test::json_of(ran)["findings"].empty());
  EXPECT_NE(ran.err.find("SES-034"), std::string::npos) << ran.err;
}

}  // namespace
}  // namespace isthmus
