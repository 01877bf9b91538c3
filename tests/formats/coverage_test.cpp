// SPDX-License-Identifier: Apache-2.0
// docs/formats/coverage.md against the readers. tests/formats/coverage holds a case for each row:
//   == ROW        then the file's lines; <head> stands for the lines of kHeads, <long> for 10 001 N
//   = what is read, one line an object, hole or record, lengths in mm, areas in mm2
// Oracle: the clause in the row; areas and lengths by hand from plane geometry.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "tests/formats/coverage_support.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

namespace fs = std::filesystem;
using Codes = std::set<std::string>;

struct Row {
  std::string id, what, verdict, clause, tests;
};
void PrintTo(const Row& row, std::ostream* out) { *out << row.id; }

Codes codes_in(const std::string& text) {
  static const std::regex code("(?:GBR|DRL|NET)-[0-9]{3}");
  return {std::sregex_token_iterator(text.begin(), text.end(), code), std::sregex_token_iterator()};
}

const std::vector<Row>& rows() {
  static const std::vector<Row> all = [] {
    std::vector<Row> out;
    std::istringstream page(test::read_bytes(test::source_dir() / "docs/formats/coverage.md"));
    const std::regex row(R"(\| ([gxdn]\.[^ ]+) \| (.*) \| ([^|]*) \| ([^|]*) \| ([^|]*) \|)");
    std::smatch m;
    for (std::string line; std::getline(page, line);) {
      if (std::regex_match(line, m, row)) out.push_back({m[1], m[2], m[3], m[4], m[5]});
    }
    return out;
  }();
  return all;
}

struct Case {
  std::string text;
  std::vector<std::string> expected;
};

const std::map<char, std::string> kHeads{
    {'g', "%FSLAX33Y33*%\n%MOMM*%\n%ADD10R,2X1*%\n%ADD11C,1*%\nG01*\nD10*\n"},
    {'d', "M48\nMETRIC\nT1C0.8\nT2C1.2\n%\nT1\n"},
    {'n', "P  UNITS CUST 1\n"}};

std::string line_of_case(const std::string& line, char kind) {
  if (line == "<head>") return kHeads.at(kind == 'x' ? 'g' : kind);
  const std::size_t at = line.find("<long>");
  if (at == line.npos) return line + "\n";
  return line.substr(0, at) + std::string(10001, 'N') + line.substr(at + 6) + "\n";
}

const std::map<std::string, Case>& cases() {
  static const std::map<std::string, Case> all = [] {
    std::map<std::string, Case> out;
    for (const auto& file : fs::directory_iterator(test::source_dir() / "tests/formats/coverage")) {
      std::istringstream lines(test::read_bytes(file.path()));
      std::string id;
      for (std::string line; std::getline(lines, line);) {
        if (line.starts_with("== ")) {
          id = line.substr(3);
          EXPECT_TRUE(out.emplace(id, Case{}).second) << id << " twice";
        } else if (line.starts_with("= ")) {
          out[id].expected.push_back(line.substr(2));
        } else {
          out[id].text += line_of_case(line, id.at(0));
        }
      }
    }
    return out;
  }();
  return all;
}

// Word by word; numbers within what chords of 1 um and four decimals leave open.
bool alike(const std::string& a, const std::string& b) {
  std::istringstream one(a), two(b);
  std::string x, y;
  while (one >> x) {
    if (!(two >> y)) return false;
    char *end_x = nullptr, *end_y = nullptr;
    const double u = std::strtod(x.c_str(), &end_x), v = std::strtod(y.c_str(), &end_y);
    const bool numbers = *end_x == '\0' && *end_y == '\0';
    if (numbers ? std::abs(u - v) > 0.001 + 0.003 * std::abs(v) : x != y) return false;
  }
  return !(two >> y);
}

using Lines = std::vector<std::string>;
// What concerns the file as a whole (to be named where it matters), and its objects.
std::pair<Lines, Lines> parted(const Lines& lines) {
  std::pair<Lines, Lines> out;
  for (const std::string& l : lines) {
    const bool whole = l.starts_with("painted") || l.starts_with("file ");
    (whole ? out.first : out.second).push_back(l);
  }
  return out;
}

class CoverageRow : public testing::TestWithParam<Row> {};

TEST_P(CoverageRow, IsAsTheTableSays) {
  const Row& row = GetParam();
  ASSERT_TRUE(cases().contains(row.id)) << "add it to tests/formats/coverage";
  const Case& given = cases().at(row.id);
  const test::Reading reading = test::put_before_its_reader(row.id.at(0), given.text);
  EXPECT_EQ(reading.refused.empty() ? "" : "refused",
            row.verdict.starts_with("refused") ? "refused" : "")
      << reading.refused_text;
  const Codes told = reading.refused.empty() ? reading.told : Codes{reading.refused};
  EXPECT_EQ(told, codes_in(row.verdict)) << reading.refused_text;
  if (!reading.refused.empty()) return;
  EXPECT_FALSE(given.expected.empty()) << "say what is read";
  const auto [of_image, of_objects] = parted(given.expected);
  const auto [image, objects] = parted(reading.lines);
  EXPECT_TRUE(std::ranges::equal(of_objects, objects, alike))
      << "expected " << testing::PrintToString(of_objects) << "\nread "
      << testing::PrintToString(objects);
  for (const std::string& line : of_image) {
    EXPECT_TRUE(std::ranges::any_of(image, [&](const std::string& l) { return alike(line, l); }))
        << "expected " << line << "\nread " << testing::PrintToString(image);
  }
}

INSTANTIATE_TEST_SUITE_P(Table, CoverageRow, testing::ValuesIn(rows()),
                         [](const testing::TestParamInfo<Row>& tested) {
                           std::string name = tested.param.id;
                           std::ranges::replace_if(
                               name, [](char c) { return c == '.' || c == '-'; }, '_');
                           return name;
                         });

TEST(CoverageTable, HasARowForEachCaseAndAVerdict) {
  std::set<std::string> ids;
  const std::regex verdict("(read|ignored)( [A-Z]{3}-[0-9]{3})*|refused [A-Z]{3}-[0-9]{3}");
  for (const Row& row : rows()) {
    EXPECT_TRUE(ids.insert(row.id).second) << row.id << " twice";
    EXPECT_TRUE(std::regex_match(row.verdict, verdict)) << row.id << ": " << row.verdict;
    EXPECT_FALSE(row.clause.empty()) << row.id;
  }
  EXPECT_GT(ids.size(), 250u);
  for (const auto& [id, given] : cases()) EXPECT_TRUE(ids.contains(id)) << id;
}

TEST(CoverageTable, NamesTestsThatExist) {
  std::set<std::string> known;
  const std::regex defined(R"(\nTEST(?:_P|_F)?\((\w+),\s*(\w+)\))");
  for (const auto& file : fs::directory_iterator(test::source_dir() / "tests/formats")) {
    if (file.path().extension() != ".cpp") continue;
    const std::string source = test::read_bytes(file.path());
    for (std::sregex_iterator i(source.begin(), source.end(), defined), end; i != end; ++i) {
      known.insert((*i)[1].str() + "." + (*i)[2].str());
    }
  }
  const std::regex name(R"(\w+\.\w+)");
  for (const Row& row : rows()) {
    std::size_t named = 0;
    for (std::sregex_iterator i(row.tests.begin(), row.tests.end(), name), end; i != end; ++i) {
      EXPECT_TRUE(known.contains(i->str())) << row.id << ": there is no test " << i->str();
      ++named;
    }
    EXPECT_GT(named, 0u) << row.id << " names no test";
  }
}

TEST(CoverageTable, NamesCodesThatAreListed) {
  std::string pages;
  for (const char* page : {"gbr", "drl", "net"}) {
    pages += test::read_bytes(test::source_dir() / "docs/messages" / (std::string(page) + ".md"));
  }
  for (const Row& row : rows()) {
    for (const std::string& code : codes_in(row.verdict)) {
      EXPECT_NE(pages.find("| " + code + " |"), pages.npos) << row.id;
    }
  }
}

// Whether a row of these kinds (the first letter of its name) names the command.
bool listed(const std::string& kinds, const std::string& command) {
  const std::regex word("(^|[^A-Z0-9a-z])" + command + "([^0-9a-z]|$)");
  return std::ranges::any_of(rows(), [&](const Row& row) {
    return kinds.find(row.id[0]) != kinds.npos && std::regex_search(row.what, word);
  });
}
std::string two_digits(int code) { return (code < 10 ? "0" : "") + std::to_string(code); }

TEST(CoverageTable, ListsEveryGerberCodeThatIsTaken) {
  for (const char letter : {'G', 'M', 'D'}) {
    for (int code = 0; code < (letter == 'D' ? 10 : 100); ++code) {
      const std::string name = letter + two_digits(code);
      const test::Reading r = test::put_before_its_reader(
          'g', kHeads.at('g') + (name == "G37" ? "G36*\n" : "") + name + "*\nM02*\n");
      const bool taken = r.refused != "GBR-016" && !r.told.contains("GBR-018");
      EXPECT_TRUE(!taken || listed("gx", name)) << name;
    }
  }
}

TEST(CoverageTable, ListsEveryTwoLetterGerberCommandThatIsKnown) {
  for (char a = 'A'; a <= 'Z'; ++a) {
    for (char b = 'A'; b <= 'Z'; ++b) {
      const std::string name{a, b};
      const test::Reading r = test::put_before_its_reader('g', "%" + name + "0*%\nM02*\n");
      if (r.told.contains("GBR-057")) continue;
      EXPECT_TRUE(listed("gx", name + "[A-Z]*")) << name;
    }
  }
}

TEST(CoverageTable, ListsEveryMacroPrimitiveThatIsKnown) {
  for (int code = 0; code < 100; ++code) {
    const test::Reading r =
        test::put_before_its_reader('g', kHeads.at('g') + "%AMPAD*\n" + std::to_string(code) +
                                             ",1,1*%\n%ADD12PAD*%\nD12*\nX0Y0D03*\nM02*\n");
    if (r.refused_text.find("there is no primitive") != std::string::npos) continue;
    EXPECT_TRUE(listed("gx", "primitive " + std::to_string(code))) << code;
  }
}

TEST(CoverageTable, ListsEveryDrillCodeThatIsKnown) {
  for (const char letter : {'G', 'M'}) {
    for (int code = 0; code < 100; ++code) {
      const std::string name = letter + two_digits(code);
      const test::Reading r = test::put_before_its_reader('d', kHeads.at('d') + name + "\nM30\n");
      if (r.refused_text.find("is no command this program knows") != std::string::npos) continue;
      EXPECT_TRUE(listed("d", name)) << name;
    }
  }
}

TEST(CoverageTable, ListsEveryNetlistRecordThatIsKnown) {
  for (int code = 0; code < 1000; ++code) {
    const std::string name = (code < 100 ? "0" : "") + two_digits(code);
    const test::Reading r = test::put_before_its_reader(
        'n', kHeads.at('n') + name +
                 "TIDE              J1    -1          A01X+001000Y+002000X1500Y0000R000 S0\n999\n");
    EXPECT_TRUE(r.refused == "NET-010" || listed("n", name)) << name;
  }
}

}  // namespace
}  // namespace isthmus::formats
