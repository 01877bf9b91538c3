// SPDX-License-Identifier: Apache-2.0
// What a person meets in the first hour: output that cannot be written, names that cannot be kept, and
// hints that lead on.
#include <gtest/gtest.h>

#include <filesystem>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;
using test::Folder;
using test::Ran;
using Words = std::vector<std::string>;

// A script of one line: stdout where the line says.
Ran in_shell(const std::string& redirection, const Words& words) {
  Words all{"-c", "\"$@\" " + redirection, "bash", test::isthmus_program()};
  all.insert(all.end(), words.begin(), words.end());
  return test::run("/bin/bash", all);
}

class FirstHour : public ::testing::Test {
 protected:
  FirstHour() {
    test::lay_tide_gauge(folder_);
    test::write(fixture(),
                "isthmus: 1\nchannels: 64\ncontact-check: true\nplacements:\n"
                "  - {name: A, side: top, probes: {1: U1.1, 2: U1.2}}\n");
  }
  [[nodiscard]] std::string board() const { return folder_ / "board.yaml"; }
  [[nodiscard]] std::string fixture() const { return folder_ / "f.yaml"; }
  [[nodiscard]] std::string record() const { return folder_ / "r.db"; }
  [[nodiscard]] std::string bench(const std::string& name) const {
    return "sim:" + (folder_ / ("bench-" + name + ".yaml")).string();
  }
  // Two probes on a whole board: nothing wrong is found, and little is tested.
  [[nodiscard]] Words test_words(const Words& more = {}) const {
    Words words{"test",    board(),     "--stage",       "joined",   "--fixture",
                fixture(), "--adapter", bench("mended"), "--record", record()};
    words.insert(words.end(), more.begin(), more.end());
    return words;
  }
  void says(const Ran& ran, int code, const std::string& words) const {
    EXPECT_EQ(ran.code, code) << ran.err;
    EXPECT_NE(ran.err.find(words), std::string::npos) << ran.err;
  }

  Folder folder_;
};

constexpr const char* kLost =
    "error CLI-090: what was to be printed could not all be written\n  hint: ";

TEST_F(FirstHour, WhatCannotBePrintedIsSaidAndIsNoSuccess) {
  test::write(record(), "");
  const Words commands[] = {{"inspect", board()},
                            {"inspect", board(), "--json"},
                            {"plan", board(), "--fixture", fixture()},
                            {"import", folder_.path(), "--out", folder_ / "new.yaml"},
                            {"history", "--record", record()},
                            {"adapters"},
                            {"adapters", "--json"},
                            {"guide", board(), "--plan", "--channels", "8"},
                            {"--help"},
                            {"test", "--help"},
                            {"--version"}};
  for (const Words& words : commands) {
    const Ran ran = in_shell("> /dev/full", words);
    EXPECT_EQ(ran.code, 2) << words[0];
    EXPECT_NE(ran.err.find(kLost), std::string::npos) << words[0] << "\n" << ran.err;
  }
}

TEST_F(FirstHour, AClosedStandardOutputIsNoFileToWriteInto) {
  const Ran ran = in_shell(">&-", {"adapters"});
  says(ran, 2, kLost);
}

TEST_F(FirstHour, ALostVerdictKeepsItsExitCodeAndSaysWhereItsRunIs) {
  for (const char* format : {"--inch", "--json"}) {
    fs::remove(record());
    const Ran ran = in_shell("> /dev/full", test_words({format}));
    says(ran, 4, std::string(kLost) + "run 1 is kept: isthmus report 1 --record " + record());
    EXPECT_EQ(test::isthmus({"report", "1", "--record", record()}).code, 0);
  }
}

TEST_F(FirstHour, AReportThatCannotBeWrittenKeepsTheVerdictsExitCode) {
  fs::create_directories(folder_ / "out/report.html");
  const Ran ran = test::isthmus(test_words({"--report", folder_ / "out"}));
  says(ran, 4, "run 1 is kept: isthmus report 1 --record " + record() + " --report FOLDER");
  EXPECT_NE(ran.out.find("INCOMPLETE (simulated)"), std::string::npos);
  EXPECT_EQ(ran.out.find("Report:"), std::string::npos);
}

TEST_F(FirstHour, AUnitThatCannotBeKeptIsRefusedAtTheDoor) {
  const auto refused = [&](const std::string& unit, const std::string& why) {
    const Ran ran = test::isthmus(test_words({"--unit", unit}));
    says(ran, 2, "error CLI-072: --unit: " + why);
    EXPECT_EQ(ran.out, "");
    EXPECT_FALSE(fs::exists(record()));
  };
  refused("", "a name must not be empty");
  refused("a\xFF", "the name is not UTF-8");
  refused("a\nb", "a name must not hold line feeds or other control characters");
  refused(std::string(100'000, 'a'), "a name of 100000 bytes is too long: 255 at most");
}

TEST_F(FirstHour, ANameOfABoardThatCannotBeKeptIsRefused) {
  says(test::isthmus({"inspect", board(), "--name", "a\xFF", "--json"}), 2,
       "--name: error YML-021: the name is not UTF-8");
  says(test::isthmus({"import", folder_.path(), "--out", folder_ / "n.yaml", "--name", "a\nb"}), 2,
       "--name: a name must not hold line feeds");
  EXPECT_FALSE(fs::exists(folder_ / "n.yaml"));
  test::write(folder_ / "f.yaml",
              test::with(test::read(folder_ / "f.yaml"), "name: A", "name: \"A\\nB\""));
  says(test::isthmus({"plan", board(), "--fixture", fixture()}), 2, "error YML-021: a name must");
}

TEST_F(FirstHour, AFolderThatCannotNameItsBoardIsNoName) {
  const fs::path odd = folder_ / "\xFFgauge";
  fs::create_directory(odd);
  for (const char* file : {"top.gbr", "bottom.gbr", "edge.gbr", "holes.drl", "tide-gauge.d356"})
    fs::copy_file(folder_ / file, odd / file);
  says(test::isthmus({"import", odd, "--out", odd / "board.yaml"}), 2,
       "error CLI-034: the board would be called as the first of FILES is, and the name is not "
       "UTF-8\n"
       "  hint: name the board in one line of UTF-8: --name TEXT\n");
  test::write(odd / "board.yaml",
              "isthmus: 1\nstage: etched\nnetlist: artwork\nartwork: {top: top.gbr}\n");
  says(test::isthmus({"inspect", odd}), 2,
       "error YML-021: the board is called as its folder is, and the name is not UTF-8\n");
}

TEST_F(FirstHour, AFolderIsTheBoardThatLiesInIt) {
  const Ran by_file = test::isthmus({"inspect", board()});
  const Ran by_folder = test::isthmus({"inspect", folder_.path()});
  EXPECT_EQ(by_folder.code, by_file.code);
  EXPECT_EQ(by_folder.out, by_file.out);
  const std::string empty = folder_ / "etched";
  fs::remove(folder_ / "etched/board.yaml");
  says(test::isthmus({"inspect", empty}), 2,
       empty +
           ": error CLI-035: is a folder without a board.yaml\n  hint: write one from the design "
           "files in it: isthmus import " +
           empty);
}

TEST_F(FirstHour, ADesignFileInPlaceOfTheBoardLeadsToImport) {
  for (const auto& [file, kind] : {std::pair{"top.gbr", "a Gerber file"},
                                   {"holes.drl", "a drill file"},
                                   {"tide-gauge.d356", "a netlist"}}) {
    const std::string path = folder_ / file;
    says(test::isthmus({"inspect", path, "--stage", "joined"}), 2,
         path + ": error CLI-035: is " + kind +
             ", not a board description\n  hint: write one from the design files first: isthmus "
             "import " +
             folder_.path().string() + "\n");
  }
  test::write(folder_ / "list.yaml", "- a\n- b\n");
  says(test::isthmus({"inspect", folder_ / "list.yaml"}), 2, "YML-004");
}

TEST_F(FirstHour, AForgottenStageIsNamed) {
  test::write(fixture(), test::read(fixture()) + "made-for: {board: tide-gauge, stage: etched}\n");
  says(test::isthmus({"plan", board(), "--fixture", fixture()}), 2,
       "error PLN-005: the fixture was made for stage etched, the board is at joined\n  hint: give "
       "--stage etched if the board has got there; else make the fixture again: isthmus fixture\n");
}

TEST_F(FirstHour, APointIsFoundInOtherCapitals) {
  const Ran ran = test::isthmus({"inspect", board(), "--between", "c1.1", "C1.2"});
  EXPECT_NE(ran.out.find("\nC1.1 to C1.2: "), std::string::npos) << ran.out << ran.err;
}

TEST_F(FirstHour, DecimalCommasAreSaid) {
  says(test::isthmus({"inspect", board(), "--process.gap", "0,2 mm"}), 2,
       "--process.gap: error YML-007: '0,2 mm' has a decimal comma\n  hint: decimals take a point: "
       "'0.2 mm'\n");
  says(test::isthmus({"inspect", board(), "--tip", "0,5 mm"}), 2,
       "--tip: error CLI-033: '0,5 mm' has a decimal comma\n  hint: decimals take a point: '0.5 "
       "mm'\n");
  says(test::isthmus({"inspect", board(), "--joins", "[[9,50, 26,0]]"}), 2,
       "hint: two numbers; decimals take a point, not a comma: [9.5, 26]\n");
}

TEST_F(FirstHour, InspectRefusesTheVoltageThatTestRefuses) {
  const Ran ran = test::isthmus({"inspect", board(), "--limits.voltage", "50 V"});
  says(ran, 2, "error CLI-051: a test voltage above 30 V is not put on a board\n");
  EXPECT_EQ(ran.out, "");
}

TEST_F(FirstHour, TwoChannelsAreWarnedOfTheirPlacements) {
  const Ran ran =
      test::isthmus({"fixture", board(), "--channels", "2", "--out", folder_ / "two.yaml"});
  says(
      ran, 0,
      "warning PLN-106: 2 channels take 195 placements, each with a plate of its own to lay\n  "
      "hint: "
      "more channels take fewer placements; or isthmus guide: clips that stay, and a needle in the "
      "hand\n");
}

TEST_F(FirstHour, ABrokenRunLeadsToResume) {
  test::write(folder_ / "s.yaml",
              test::with(test::read(folder_ / "bench-mended.yaml"), "link: {latency-us: 1000}",
                         "link: {latency-us: 1000, unplug-after: 12}"));
  Words words = test_words();
  words[7] = "sim:" + (folder_ / "s.yaml").string();
  Ran ran = test::isthmus(words);
  says(ran, 3,
       "this run cannot be continued: with --unit SERIAL, --resume goes on where one broke off\n");
  words.insert(words.end(), {"--unit", "TG-1"});
  ran = test::isthmus(words);
  says(ran, 3, "the same command with --resume goes on where it broke off\n");
}

TEST(Usage, WhatTheOptionLibrarySaysIsSaidInOurWords) {
  const auto says = [](const Words& words, const std::string& message) {
    const Ran ran = test::isthmus(words);
    EXPECT_EQ(ran.code, 2);
    EXPECT_EQ(ran.err.substr(0, ran.err.find("\n")), "error CLI-072: " + message);
  };
  says({"inspect", "b.yaml", "--between", "C1.1"}, "--between needs 2 values");
  says({"inspect", "b.yaml", "--between"}, "--between needs 2 values");
  says({"inspect", "b.yaml", "--tip"}, "--tip needs a value");
  says({"fixture", "b.yaml", "--channels", "x"}, "--channels: 'x' is not a whole number");
  says({"plan", "b.yaml", "--fixture", "f", "--wires", "3"}, "--wires: '3' is not one of 2, 4");
  says({"guide", "b.yaml", "--channels", "300"}, "--channels: '300' is not between 2 and 256");
  says({"inspect", "b.yaml", "--origin", "middle"},
       "--origin: 'middle' is not one of artwork, corner");
  says({"inspect", "b.yaml", "--json=maybe"}, "--json takes no value");
  says({"report", "x"}, "RUN: 'x' is not a whole number");
  says({"adapters", "--thorough"}, "--thorough needs --check");
}

TEST(Help, OfEachCommandHasAnExampleOfItAndLeavesTheKeysToTheirOwn) {
  for (const char* command : {"import", "inspect", "fixture", "plan", "test", "guide", "report",
                              "history", "zero", "adapters"}) {
    const std::string help = test::isthmus({command, "--help"}).out;
    EXPECT_NE(help.find(std::string("\nExample: isthmus ") + command), std::string::npos) << help;
    EXPECT_EQ(help.find("--limits.voltage"), std::string::npos) << command;
  }
  const Ran keys = test::isthmus({"inspect", "--help-keys"});
  EXPECT_EQ(keys.code, 0);
  EXPECT_NE(keys.out.find(
                "\n  --limits.voltage VOLTAGE            test voltage for isolation, as '10 V'\n"),
            std::string::npos)
      << keys.out;
}

TEST(Progress, ShowsHowFarNinjaCtestAndAptAre) {
  const std::string program = test::source_dir() / "hostsim/progress";
  const Ran ran = test::run(
      "/bin/bash",
      {"-c",
       "printf '%s\\n' '[7/90] Building' ' 12/34 Test #5: a.b ... Passed' 'x' 'Unpacking cmake' | "
       "\"$1\" 0",
       "bash", program});
  EXPECT_EQ(ran.out, "  7 of 90\n  12 of 34\n  Unpacking cmake\n");
  const Ran seldom = test::run(
      "/bin/bash", {"-c", "printf '%s\\n' '[7/90] a' '[8/90] b' | \"$1\" 30", "bash", program});
  EXPECT_EQ(seldom.out, "");
}

}  // namespace
}  // namespace isthmus
