// SPDX-License-Identifier: Apache-2.0
// A wrong word on the command line or in the scenario: named, with a code and what to do.
#include <gtest/gtest.h>

#include <filesystem>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using test::Folder;
using test::Ran;

void refused(const Ran& ran, const std::string& message) {
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find(message), std::string::npos) << ran.err;
}

TEST(Usage, AWrongCommandIsNamedWithTheNearest) {
  refused(test::isthmus({"tset"}),
          "error CLI-070: 'tset' is no command\n  hint: did you mean test?");
  refused(test::isthmus({"solder"}), "one of: import, inspect, fixture");
  refused(test::isthmus({}), "CLI-070: no command is given");
}

TEST(Usage, AWrongOptionIsNamedWithTheNearest) {
  refused(test::isthmus({"test", "b.yaml", "--stgae", "etched"}),
          "error CLI-071: test has no option '--stgae'\n  hint: did you mean --stage?");
  refused(test::isthmus({"plan", "b.yaml", "--fixtre=f.yaml"}), "did you mean --fixture?");
  refused(test::isthmus({"history", "--colour-of-the-sky"}), "see isthmus history --help");
}

TEST(Usage, AMissingOrASuperfluousWordIsTold) {
  refused(test::isthmus({"plan", "b.yaml"}), "CLI-072: --fixture is required");
  refused(test::isthmus({"history", "TG-1", "TG-2"}), "CLI-072: 'TG-2' is an unexpected argument");
}

TEST(Usage, ATipIsALengthWithItsUnit) {
  refused(test::isthmus({"inspect", "b.yaml", "--tip", "0.5"}), "--tip: error CLI-033");
  refused(test::isthmus({"inspect", "b.yaml", "--tip", "0.5 m"}), "0.05 to 5 mm");
  refused(test::isthmus({"inspect", "b.yaml", "--tip", "0.01 mm"}), "0.05 to 5 mm");
}

TEST(Usage, HelpIsNoError) {
  const Ran ran = test::isthmus({"history", "--help"});
  EXPECT_EQ(ran.code, 0);
  EXPECT_EQ(ran.err, "");
}

// One small board with its fixture.
class SimulatedBench : public ::testing::Test {
 protected:
  SimulatedBench() {
    std::filesystem::copy(test::source_dir() / "fixtures/tide-gauge", folder_.path(),
                          std::filesystem::copy_options::recursive);
    test::write(folder_ / "f.yaml",
                "isthmus: 1\nchannels: 64\ncontact-check: true\nplacements:\n"
                "  - {name: A, side: top, probes: {1: U1.1, 2: U1.2}}\n");
  }
  [[nodiscard]] Ran run_test(const std::string& program = test::isthmus_program()) const {
    return test::run(program,
                     {"test", folder_ / "board.yaml", "--stage", "joined", "--fixture",
                      folder_ / "f.yaml", "--adapter", "sim:" + (folder_ / "s.yaml").string(),
                      "--record", folder_ / "r.db", "--report", folder_ / "deep/out"});
  }
  void scenario(const std::string& old, const std::string& fresh) const {
    test::write(folder_ / "s.yaml",
                test::with(test::read(folder_ / "bench-mended.yaml"), old, fresh));
  }
  Folder folder_;
};

TEST_F(SimulatedBench, AWrongScenarioIsBadInputAndLeavesNoFolder) {
  scenario("channels:", "chanels:");
  refused(run_test(), "CLI-012");
  EXPECT_FALSE(std::filesystem::exists(folder_ / "deep"));
}

TEST_F(SimulatedBench, AChannelItDoesNotHaveIsBadInput) {
  scenario("channels: 64", "channels: 1");
  const Ran ran = run_test();
  EXPECT_EQ(ran.code, 2) << ran.err;
  EXPECT_EQ(ran.out, "");
}

TEST_F(SimulatedBench, ASimulatorThatIsNotThereIsNamedWithWhatToDo) {
  scenario("channels: 64", "channels: 64");
  const auto alone = folder_ / "isthmus";  // without isthmus-sim beside it
  std::filesystem::copy_file(test::isthmus_program(), alone);
  const Ran ran = test::run(
      "/usr/bin/env", {"PATH=/nowhere", alone, "test", folder_ / "board.yaml", "--stage", "joined",
                       "--fixture", folder_ / "f.yaml", "--adapter",
                       "sim:" + (folder_ / "s.yaml").string(), "--record", folder_ / "r.db"});
  EXPECT_EQ(ran.code, 3);
  EXPECT_NE(ran.err.find("CLI-010: isthmus-sim cannot be run"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("hint: isthmus-sim is neither beside isthmus nor on the PATH"),
            std::string::npos)
      << ran.err;
}

TEST(History, OfAUnitThatWasNeverTestedSaysSo) {
  const Folder folder;
  // An empty record is made by the first run alone; here a file that is one.
  const Ran none = test::isthmus({"history", "TG-999", "--record", folder / "none.db"});
  refused(none, "CLI-061");
  test::write(folder / "r.db", "");
  refused(test::isthmus({"history", "TG-999", "--record", folder / "r.db"}),
          "CLI-062: no unit 'TG-999' was ever tested");
  const Ran all = test::isthmus({"history", "--record", folder / "r.db"});
  EXPECT_EQ(all.code, 0) << all.err;
  EXPECT_NE(all.out.find("No run is in"), std::string::npos);
}

}  // namespace
}  // namespace isthmus
