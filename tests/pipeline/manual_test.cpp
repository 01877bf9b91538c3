// SPDX-License-Identifier: Apache-2.0
// The manual pages and the bash completion against what the programs say of themselves.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using test::Folder;
using test::Ran;
using Words = std::set<std::string>;

std::vector<std::string> lines_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

Words all_matches(const std::string& text, const char* pattern) {
  const std::regex expression(pattern);
  Words found;
  for (std::sregex_iterator i(text.begin(), text.end(), expression), end; i != end; ++i)
    found.insert((*i)[i->size() > 1 ? 1 : 0].str());
  return found;
}

Words options_in(const std::string& text) {
  return all_matches(text, "(?:^|[^-\\w])(--[a-z][a-z.-]*[a-z])");
}

// What `--help` tells.
struct Help {
  Words commands, options, flags, keys;  // keys of board.yaml; flags are options without a value
  std::map<std::string, std::string> says;
  std::string text;
  [[nodiscard]] Words all() const {
    Words both = options;
    both.insert(keys.begin(), keys.end());
    return both;
  }
};

std::string told_by(const std::string& program, const std::string& command,
                    const std::string& option) {
  std::vector<std::string> arguments{option};
  if (!command.empty()) arguments.insert(arguments.begin(), command);
  const Ran ran = test::run(program, arguments);
  EXPECT_EQ(ran.code, 0) << ran.err;
  return ran.out;
}

Help help_of(const std::string& program, const std::string& command = "") {
  Ran ran;
  ran.out = told_by(program, command, "--help");
  if (ran.out.find("--help-keys") != std::string::npos)
    ran.out += told_by(program, command, "--help-keys");
  Help help;
  help.text = ran.out;
  std::string part;
  std::smatch m;
  static const std::regex option("^  (?:-h,)?(--[a-z][a-z.-]*)( [A-Z]{2,}\\S*)?(.*)$");
  static const std::regex word("^  ([a-z]+)  .*$");
  for (const std::string& line : lines_of(ran.out)) {
    if (!line.empty() && line[0] != ' ') part = line;
    if (std::regex_match(line, m, option)) {
      const std::string name = m[1];
      (part == "Keys of board.yaml:" ? help.keys : help.options).insert(name);
      // "--pty Excludes: --tcp" has no value either.
      if (!m[2].matched) help.flags.insert(name);
      help.says[name] = line;
    } else if (part == "Subcommands:" && std::regex_match(line, m, word)) {
      help.commands.insert(m[1]);
    }
  }
  EXPECT_TRUE(help.options.contains("--help")) << ran.out;
  return help;
}

Help help_of_isthmus(const std::string& command = "") {
  return help_of(test::isthmus_program(), command);
}

Words commands() {
  Words all = help_of_isthmus().commands;
  EXPECT_GE(all.size(), 8U);
  return all;
}

// A page: section ("COMMANDS/import" for a part of one) -> its text, and the tags of its lists.
struct Page {
  std::string title, whole;
  std::map<std::string, std::string> text;
  std::map<std::string, std::string> tags;
};

std::string plain(std::string line) {
  for (const auto& [roff, shown] :
       {std::pair{"\\\\-", "-"}, {"\\\\\\(dq", "\""}, {"\\\\e", "\\"}, {"\\\\f[RBI]", ""}})
    line = std::regex_replace(line, std::regex(roff), shown);
  return line;
}

Page page(const std::string& name) {
  Page page;
  std::string section, part;
  bool tag = false;
  for (const std::string& raw : lines_of(test::read(test::source_dir() / "docs" / name))) {
    const std::string line = plain(raw);
    if (line.starts_with(".TH ")) page.title = line;
    if (line.starts_with(".SH ")) part = section = line.substr(4);
    if (line.starts_with(".SS ")) part = section + "/" + line.substr(4);
    page.whole += line + "\n";
    page.text[part] += line + "\n";
    if (tag) page.tags[part] += line + "\n";
    tag = line == ".TP";
  }
  return page;
}

Words first_words(const std::string& tags) {  // of lines such as ".B NAME"
  return all_matches("\n" + tags, "\n\\.B ([A-Z_0-9]+)");
}

TEST(ManualPage, ToldIsEveryCommandAndNoOther) {
  const Page manual = page("isthmus.1");
  Words told, in_synopsis = all_matches(manual.text.at("SYNOPSIS"), "\\.B isthmus ([a-z]+)");
  for (const auto& [part, text] : manual.text)
    if (part.starts_with("COMMANDS/")) told.insert(part.substr(9));
  EXPECT_EQ(told, commands());
  EXPECT_EQ(in_synopsis, commands());
}

TEST(ManualPage, ToldIsEveryOptionOfEachCommandAndNoOther) {
  const Page manual = page("isthmus.1");
  EXPECT_EQ(options_in(manual.tags.at("OPTIONS")), help_of_isthmus().options);
  for (const std::string& command : commands()) {
    const Help help = help_of_isthmus(command);
    Words told = options_in(manual.tags.at("COMMANDS/" + command));
    EXPECT_FALSE(told.contains("--help")) << "told once, for all commands";
    told.insert("--help");
    EXPECT_EQ(told, help.options) << command;
    const bool keys =
        manual.text.at("COMMANDS/" + command).find("Takes the keys of") != std::string::npos;
    EXPECT_EQ(keys ? options_in(manual.tags.at("KEYS OF BOARD.YAML")) : Words{}, help.keys)
        << command;
  }
}

TEST(ManualPage, NoOptionIsSpokenOfThatTheProgramLacks) {
  Words known = help_of_isthmus().options;
  for (const std::string& command : commands()) known.merge(help_of_isthmus(command).all());
  for (const std::string& option : options_in(page("isthmus.1").whole))
    EXPECT_TRUE(known.contains(option)) << option;
}

TEST(ManualPage, ItsExamplesUseOptionsOfTheirCommandsAndFilesThatExist) {
  const std::string text =
      std::regex_replace(page("isthmus.1").text.at("EXAMPLES"), std::regex("\\\\\n *"), "");
  Words shown;
  for (const std::string& line : lines_of(text)) {
    std::smatch m;
    if (!std::regex_match(line, m, std::regex("isthmus ([a-z]+) .*"))) continue;
    shown.insert(m[1]);
    const Words known = help_of_isthmus(m[1]).all();
    for (const std::string& option : options_in(line)) EXPECT_TRUE(known.contains(option)) << line;
    for (const std::string& file : all_matches(line, "fixtures/\\S+"))
      EXPECT_TRUE(std::filesystem::exists(test::source_dir() / file)) << file;
  }
  Words without_an_example = commands();
  for (const std::string& command : shown) without_an_example.erase(command);
  EXPECT_EQ(without_an_example, Words{"adapters"});  // needs none
}

TEST(ManualPage, ExitCodesAreThoseOfTheHelp) {
  std::smatch m;
  const std::string help = std::regex_replace(help_of_isthmus().text, std::regex("\n"), " ");
  ASSERT_TRUE(std::regex_search(help, m, std::regex("Exit codes:(.*) a bug of ours")));
  EXPECT_EQ(first_words(page("isthmus.1").tags.at("EXIT STATUS")),
            all_matches(m[1], "\\b([0-9]+)\\b"));
}

TEST(ManualPage, EveryVariableTheProgramReadsIsTold) {
  Words read;
  for (const auto& file : std::filesystem::recursive_directory_iterator(test::source_dir() / "src"))
    if (file.path().extension() == ".cpp")
      read.merge(all_matches(test::read(file), "getenv\\(\"([A-Z_]+)\"\\)"));
  ASSERT_TRUE(read.contains("ISTHMUS_RECORD"));
  // Read by the system's calls: execvp(3), and std::filesystem::temp_directory_path.
  read.merge(Words{"PATH", "TMPDIR"});
  EXPECT_EQ(first_words(page("isthmus.1").tags.at("ENVIRONMENT")), read);
}

TEST(ManualPage, TheRecordLiesWhereThePageSays) {
  const Folder folder;
  const auto ran_with = [&](const std::string& setting, const std::string& file) {
    std::filesystem::create_directories((folder / file).parent_path());
    const Ran ran = test::run("/usr/bin/env", {"-u", "ISTHMUS_RECORD", "-u", "XDG_DATA_HOME",
                                               setting, test::isthmus_program(), "history"});
    EXPECT_EQ(ran.code, 2);
    EXPECT_NE(ran.err.find((folder / file).string()), std::string::npos) << ran.err;
  };
  ran_with("ISTHMUS_RECORD=" + (folder / "named.db").string(), "named.db");
  ran_with("XDG_DATA_HOME=" + (folder / "data").string(), "data/isthmus/record.db");
  ran_with("HOME=" + folder.path().string(), ".local/share/isthmus/record.db");
}

TEST(ManualPage, CarriesTheProgramsVersion) {
  const Ran ran = test::isthmus({"--version"});
  const std::string version = lines_of(ran.out).at(0);
  for (const char* name : {"isthmus.1", "isthmus-sim.1"})
    EXPECT_NE(page(name).title.find("\"" + version + "\""), std::string::npos) << name;
}

TEST(ManualPage, WarnsOfWhatCanHurt) {
  const std::string safety = page("isthmus.1").text.at("SAFETY");
  for (const char* word : {"unpowered", "charged capacitor", "voltage is low", "residue",
                           "Spring pins", "eye protection", "no conformity is claimed"})
    EXPECT_NE(safety.find(word), std::string::npos) << word;
}

TEST(ManualPageOfTheSimulator, ToldIsEveryOptionAndNoOther) {
  const Page manual = page("isthmus-sim.1");
  const Help help = help_of(test::simulator_program());
  EXPECT_EQ(options_in(manual.tags.at("OPTIONS")), help.options);
  Words told = help.options;
  told.insert("--adapter");  // of isthmus test
  EXPECT_EQ(options_in(manual.whole), told);
}

TEST(ManualPages, GroffHasNothingToSayAgainstThem) {
  if (!std::filesystem::exists("/usr/bin/groff")) GTEST_SKIP() << "groff is not here";
  for (const char* name : {"isthmus.1", "isthmus-sim.1"}) {
    const Ran ran =
        test::run("/usr/bin/groff", {"-man", "-ww", "-Tutf8", test::source_dir() / "docs" / name});
    EXPECT_EQ(ran.code, 0) << name;
    EXPECT_EQ(ran.err, "") << name;
    EXPECT_TRUE(std::regex_search(ran.out, std::regex("tide +gauge"))) << name;  // justified
  }
}

// What bash would offer at the end of `line`; it cuts words at ':' and '=' as readline does.
std::vector<std::string> offered(const std::string& line, const std::string& folder = "/") {
  const char* driver = R"(
    set -u
    source "$1"; cd "$2"
    COMP_LINE=$3; COMP_POINT=${#3}; COMP_WORDBREAKS=$' \t\n"\'><=;|&(:'
    split=${3//:/ : }; split=${split//=/ = }
    set -f; COMP_WORDS=($split); set +f
    [[ $3 != *' ' ]] || COMP_WORDS+=('')
    COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
    [[ $(complete -p "${COMP_WORDS[0]}") =~ -F\ ([^ ]+) ]] || exit 9
    "${BASH_REMATCH[1]}"
    ((${#COMPREPLY[@]} == 0)) || printf '%s\n' "${COMPREPLY[@]}")";
  const Ran ran =
      test::run("/bin/bash", {"--norc", "-c", driver, "bash",
                              test::source_dir() / "docs/completion/isthmus.bash", folder, line});
  EXPECT_EQ(ran.code, 0) << line << "\n" << ran.err;
  EXPECT_EQ(ran.err, "") << line;
  std::vector<std::string> words = lines_of(ran.out);
  std::ranges::sort(words);
  EXPECT_EQ(std::ranges::adjacent_find(words), words.end()) << line << ": offered twice";
  return words;
}

Words offers(const std::string& line, const std::string& folder = "/") {
  const auto words = offered(line, folder);
  return {words.begin(), words.end()};
}

// "a | b | a YAML list" -> a, b
Words alternatives(const std::string& help) {
  Words words;
  std::smatch value;
  EXPECT_TRUE(std::regex_search(help, value, std::regex("^  --\\S+ [A-Z]+")));
  std::istringstream in(std::regex_replace(value.suffix().str(), std::regex(" \\| "), "|"));
  std::smatch m;
  for (std::string word; std::getline(in, word, '|');)
    if (std::regex_match(word, m, std::regex("(?:.* {2,})?([a-z-]+)"))) words.insert(m[1]);
  return words;
}

TEST(Completion, OffersEveryCommandAndNoOther) { EXPECT_EQ(offers("isthmus "), commands()); }

TEST(Completion, OffersEveryOptionOfEachCommandAndNoOther) {
  EXPECT_EQ(offers("isthmus --"), help_of_isthmus().options);
  for (const std::string& command : commands())
    EXPECT_EQ(offers("isthmus " + command + " --"), help_of_isthmus(command).all()) << command;
  EXPECT_EQ(offers("isthmus-sim --"), help_of(test::simulator_program()).options);
}

TEST(Completion, KnowsWhichOptionsTakeAValue) {
  const auto look = [](const std::string& start, const Help& help) {
    for (const std::string& option : help.all()) {
      const Words after = offers(start + option + " --");
      EXPECT_EQ(after, help.flags.contains(option) ? help.all() : Words{}) << start << option;
    }
  };
  for (const std::string& command : commands())
    look("isthmus " + command + " ", help_of_isthmus(command));
  look("isthmus-sim ", help_of(test::simulator_program()));
}

TEST(Completion, OffersTheValuesThatTheHelpNames) {
  const Help help = help_of_isthmus("test");
  const Words stages = alternatives(help.says.at("--stage"));
  ASSERT_EQ(stages.size(), 5U);
  for (const char* start :
       {"isthmus test --stage ", "isthmus import --stage=", "isthmus plan b.yaml --stage "})
    EXPECT_EQ(offers(start), stages) << start;
  EXPECT_EQ(offers("isthmus test --joins "), alternatives(help.says.at("--joins")));
  EXPECT_NE(help_of_isthmus("plan").says.at("--wires").find("{2,4}"), std::string::npos);
  EXPECT_EQ(offers("isthmus plan --wires "), (Words{"2", "4"}));
  EXPECT_EQ(offers("isthmus test --netlist ", Folder().path() / "..").contains("gerber-x2"), true);
}

TEST(Completion, OffersEveryKindOfAddress) {
  const Words schemes = all_matches(help_of_isthmus("test").says.at("--adapter"), "\\b([a-z]+:)");
  ASSERT_EQ(schemes.size(), 5U);
  EXPECT_EQ(offers("isthmus test --adapter "), schemes);
  EXPECT_EQ(offers("isthmus test --adapter="), schemes);
  EXPECT_EQ(offers("isthmus adapters --check "), schemes);
  EXPECT_EQ(offers("isthmus test --adapter se"), Words{"serial:"});
  EXPECT_TRUE(offers("isthmus test --adapter serial:").contains("/dev/null"));
  EXPECT_EQ(offers("isthmus test --adapter tcp:"), Words{});
}

TEST(Completion, OffersFilesWhereAFileIsMeant) {
  const Folder folder;
  for (const char* name : {"bench one.yaml", "bench-2.yaml", "board.yaml"})
    test::write(folder / name, "x");
  std::filesystem::create_directory(folder / "bench-out");
  const Words all{"bench one.yaml", "bench-2.yaml", "bench-out"};
  for (const char* start :
       {"isthmus test be", "isthmus import board.yaml be", "isthmus test --fixture be",
        "isthmus test --fixture=be", "isthmus test --adapter sim:be",
        "isthmus test --adapter=sim:be", "isthmus inspect --artwork.top be",
        "isthmus test --json be", "isthmus history --record be", "isthmus-sim be",
        "isthmus-sim --pty --fixture be"})
    EXPECT_EQ(offers(start, folder.path()), all) << start;
  EXPECT_EQ(offers("isthmus test --report be", folder.path()), Words{"bench-out"});
  for (const char* start :
       {"isthmus be", "isthmus report be", "isthmus history be", "isthmus test --unit be",
        "isthmus inspect --between be", "isthmus inspect --between A be", "isthmus-sim --tcp be"})
    EXPECT_EQ(offers(start, folder.path()), Words{}) << start;
}

TEST(Installation, PutsProgramsPagesAndCompletionInTheirPlaces) {
  const Folder folder;
  const Ran ran =
      test::run("/usr/bin/env", {"-u", "DESTDIR", "cmake", "--install", test::binary_dir().string(),
                                 "--prefix", folder.path()});
  ASSERT_EQ(ran.code, 0) << ran.err;
  for (const char* file :
       {"bin/isthmus-sim", "share/man/man1/isthmus.1", "share/man/man1/isthmus-sim.1",
        "share/bash-completion/completions/isthmus",
        "share/bash-completion/completions/isthmus-sim", "lib/udev/rules.d/70-isthmus.rules"})
    EXPECT_TRUE(std::filesystem::exists(folder / file)) << file;
  test::write(folder / "scenario.yaml", "isthmus: 1\nnetwork: {points: {A: a}, resistors: []}\n");
  const Ran checked =
      test::run(folder / "bin/isthmus",
                {"adapters", "--check", "sim:" + (folder / "scenario.yaml").string()});
  EXPECT_EQ(checked.code, 0) << checked.err;
}

}  // namespace
}  // namespace isthmus
