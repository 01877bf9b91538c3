// SPDX-License-Identifier: Apache-2.0
// What `fixture` says before a plate is drilled, of boards on which no run could pass. Oracle: what
// `test` says of the same board.
#include <gtest/gtest.h>

#include "tests/pipeline/line_board.hpp"

namespace isthmus::test {
namespace {

class FixtureWarnings : public ::testing::Test {
 protected:
  void SetUp() override { write_line_board(folder_); }
  Ran fixture() {
    return isthmus({"fixture", folder_ / "board.yaml", "--channels", "8", "--contact-check",
                    "--force", "--out", folder_ / "f.yaml"});
  }
  Ran test_on_bench() {
    write(folder_ / "bench.yaml",
          "isthmus: 1\nboard: board.yaml\nchannels: 8\nseed: 1\nclock: virtual\n");
    return isthmus({"test", folder_ / "board.yaml", "--fixture", folder_ / "f.yaml", "--adapter",
                    "sim:" + (folder_ / "bench.yaml").string(), "--record", folder_ / "r.db",
                    "--on-placement", "true"});
  }
  void edit(const char* file, const std::string& old, const std::string& fresh) {
    write(folder_ / file, with(read(folder_ / file), old, fresh));
  }
  Folder folder_;
};

TEST_F(FixtureWarnings, AreNoneForAGoodBoard) { EXPECT_EQ(fixture().err, ""); }

// C1 is said to be of AFT, and no copper leads there.
TEST_F(FixtureWarnings, NameTheNetThatKeepsEveryRunFromPassing) {
  edit("n.d356", "327N/C              C     -1", "327AFT              C     -1");
  const auto both_say = [this](const std::string& stage, const std::string& why) {
    const Ran made = fixture(), ran = test_on_bench();
    const std::string warning = "warning PLN-105: no run on this board can pass at stage " + stage;
    EXPECT_NE(made.err.find(warning + ": net AFT (" + why + ": "), std::string::npos) << made.err;
    EXPECT_EQ(made.code, 0);
    EXPECT_NE(ran.out.find("(" + why + ")"), std::string::npos) << ran.out << ran.err;
    EXPECT_EQ(ran.code, 4);
  };
  both_say("etched-top", "disagreement: open in the artwork");
  edit("board.yaml", "stage: etched-top", "joins: none\nstage: joined");
  both_say("joined", "split at joined");
}

// Tracks 5 mm apart: the window is 1.27 mm.
TEST_F(FixtureWarnings, SayThatNoTwoNetsComeWithinTheWindow) {
  const std::string was = read(folder_ / "top.gbr");
  std::string apart = was;
  for (const char* y : {"Y1000000", "Y2000000"}) {
    for (std::size_t at = 0; (at = apart.find(y, at)) != std::string::npos; at += 9)
      apart.replace(at, 8, y == std::string("Y1000000") ? "Y5000000" : "Y9000000");
  }
  write(folder_ / "top.gbr", apart);
  edit("n.d356", "B     -1          A01X+000000Y+001000", "B     -1          A01X+000000Y+005000");
  edit("n.d356", "B     -2          A01X+010000Y+001000", "B     -2          A01X+010000Y+005000");
  edit("n.d356", "C     -1          A01X+005000Y+002000", "C     -1          A01X+005000Y+009000");
  const Ran made = fixture();
  EXPECT_EQ(made.code, 0) << made.err;
  EXPECT_NE(made.err.find("warning CLI-050: no two nets come within the window"), std::string::npos)
      << made.err;
  const Ran ran = test_on_bench();
  EXPECT_EQ(ran.code, 2);
  EXPECT_NE(ran.err.find("error CLI-050: no two nets come within the window"), std::string::npos)
      << ran.err;
}

}  // namespace
}  // namespace isthmus::test
