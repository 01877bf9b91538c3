// SPDX-License-Identifier: Apache-2.0
// The walk of the README, run as it stands there: what it quotes of the programs' output is true.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <regex>
#include <sstream>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using Lines = std::vector<std::string>;

Lines lines_of(const std::string& text) {
  std::istringstream in(text);
  Lines lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

struct Quoted {
  std::string command;
  Lines shown;
};

// The commands after "$ isthmus" in the fenced blocks, with the lines quoted below each.
std::vector<Quoted> walk(const std::string& readme) {
  std::vector<Quoted> all;
  bool fenced = false, goes_on = false;
  for (const std::string& line : lines_of(readme)) {
    if (line.starts_with("```")) {
      fenced = !fenced;
      goes_on = false;
    } else if (fenced && goes_on) {
      all.back().command += "\n" + line;
      goes_on = line.ends_with("\\");
    } else if (fenced && line.starts_with("$ isthmus ")) {
      all.push_back({line.substr(2), {}});
      goes_on = line.ends_with("\\");
    } else if (fenced && !all.empty()) {
      all.back().shown.push_back(line);
    }
  }
  return all;
}

// The moment a run began is the only thing that changes from run to run.
std::string timeless(const std::string& line) {
  static const std::regex moment("[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:]{8}Z");
  return std::regex_replace(line, moment, "(then)");
}

bool fits(const std::string& shown, const std::string& real) {
  if (!shown.ends_with("...")) return timeless(shown) == timeless(real);
  return real.starts_with(shown.substr(0, shown.size() - 3));
}

// The first quoted line that does not follow, or "": "..." stands for any lines, also for none.
std::string first_untrue(const Lines& shown, const Lines& real) {
  std::size_t at = 0;
  bool skipping = false;
  for (const std::string& line : shown) {
    if (line == "...") {
      skipping = true;
      continue;
    }
    while (skipping && at < real.size() && !fits(line, real[at])) ++at;
    if (at == real.size() || !fits(line, real[at])) return line;
    ++at;
    skipping = false;
  }
  return skipping || at == real.size() ? "" : "(it says more: " + real[at] + ")";
}

TEST(Readme, QuotesAreHeldToWhatIsSaid) {
  EXPECT_EQ(first_untrue({"a", "...", "d"}, {"a", "b", "c", "d"}), "");
  EXPECT_EQ(first_untrue({"a", "c"}, {"a", "b", "c"}), "c");
  EXPECT_EQ(first_untrue({"a"}, {"a", "b"}), "(it says more: b)");
  EXPECT_EQ(first_untrue({"a; ..."}, {"a; long"}), "");
  EXPECT_EQ(first_untrue({"...", "693 mohm"}, {"689 mohm"}), "693 mohm");
}

TEST(Readme, TheWalkSaysWhatItQuotes) {
  const test::Folder folder;
  std::filesystem::create_directory_symlink(test::source_dir() / "fixtures", folder / "fixtures");
  const std::string bin = std::filesystem::path(test::isthmus_program()).parent_path();
  const auto commands = walk(test::read(test::source_dir() / "README.md"));
  ASSERT_GE(commands.size(), 10U);
  for (const Quoted& q : commands) {
    const auto ran = test::run(
        "/bin/sh",
        {"-c", "cd \"$1\" && PATH=\"$2:$PATH\" && " + q.command, "sh", folder.path(), bin},
        std::chrono::seconds(300));
    EXPECT_NE(ran.code, 2) << q.command << "\n" << ran.err;
    EXPECT_NE(ran.code, 127) << q.command << "\n" << ran.err;
    EXPECT_EQ(first_untrue(q.shown, lines_of(ran.out)), "") << q.command << "\n" << ran.out;
  }
}

}  // namespace
}  // namespace isthmus
