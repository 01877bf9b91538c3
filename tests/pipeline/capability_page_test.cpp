// SPDX-License-Identifier: Apache-2.0
// The page to take to the printer, as a file. Lengths on it are those of CSS: a millimetre is one.
#include <gtest/gtest.h>

#include <regex>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

class CapabilityPage : public ::testing::Test {
 protected:
  test::Ran inspect(const std::vector<std::string>& more) {
    std::vector<std::string> words{"inspect",
                                   test::source_dir() / "fixtures/tide-gauge/board.yaml"};
    words.insert(words.end(), more.begin(), more.end());
    return test::isthmus(words);
  }
  std::string page(const std::vector<std::string>& more = {}) {
    std::vector<std::string> words{"--page", folder_ / "print.html"};
    words.insert(words.end(), more.begin(), more.end());
    const auto ran = inspect(words);
    EXPECT_EQ(ran.code, 0) << ran.err;
    return test::read(folder_ / "print.html");
  }
  test::Folder folder_;
};

TEST_F(CapabilityPage, NamesWhatTheTextAndTheJsonName) {
  const std::string html = page();
  const auto j = test::json_of(inspect({"--json"}));
  ASSERT_EQ(j["shortfalls"].size(), 1U);  // the web between two clearances of the pour
  const auto& s = j["shortfalls"][0];
  EXPECT_EQ(s["kind"], "track");
  EXPECT_EQ(s["nets"], nlohmann::json::parse(R"(["GND"])"));
  EXPECT_EQ(s["side"], "bottom");
  EXPECT_LT(s["drawn_mm"].get<double>(), s["needed_mm"].get<double>());
  EXPECT_NE(html.find("<td>track</td>"), std::string::npos);
  EXPECT_NE(html.find("<td>GND</td>"), std::string::npos);
  EXPECT_NE(inspect({}).out.find("1 place below what the process holds"), std::string::npos);
}

TEST_F(CapabilityPage, HasBarsOfAHundredMillimetresBothWaysAndBothSidesInTrueSize) {
  const std::string html = page();
  // 102 user units on 102 mm, with a line 100 units long in each.
  EXPECT_NE(html.find(R"(width="102mm" height="9mm" viewBox="0 0 102 9")"), std::string::npos);
  EXPECT_NE(html.find(R"(width="9mm" height="102mm" viewBox="0 0 9 102")"), std::string::npos);
  std::size_t lines = 0;
  for (std::size_t at = html.find("M0 0H100"); at != std::string::npos;
       at = html.find("M0 0H100", at + 1))
    ++lines;
  EXPECT_EQ(lines, 2U);
  const std::regex drawn(
      R"re(width="([0-9.]+)mm" height="([0-9.]+)mm" viewBox="[-0-9.]+ [-0-9.]+ ([0-9.]+) ([0-9.]+)")re");
  std::size_t sides = 0;
  for (std::sregex_iterator it(html.begin(), html.end(), drawn), end; it != end; ++it) {
    EXPECT_EQ(std::stod((*it)[1]), std::stod((*it)[3]));
    EXPECT_EQ(std::stod((*it)[2]), std::stod((*it)[4]));
    ++sides;
  }
  EXPECT_EQ(sides, 4U);  // the bars, top and bottom
}

TEST_F(CapabilityPage, FetchesNothingAndRunsNothing) {
  const std::string html = page();
  for (const char* word : {"<script", "http:", "https:", "url(", "<img", "<link"})
    EXPECT_EQ(html.find(word), std::string::npos) << word;
}

TEST_F(CapabilityPage, ItsMarksAreWhatPlacedTakes) {
  std::string html = page();
  const auto at = html.find("<pre>placed:");
  ASSERT_NE(at, std::string::npos);
  std::string yaml = html.substr(at + 5, html.find("</pre>", at) - at - 5);
  // As if everything were printed 1 % too large: measured x' = 1.01 x.
  const std::regex mark(R"(\[([0-9.-]+), ([0-9.-]+), ___, ___\])");
  std::string filled;
  auto last = yaml.cbegin();
  for (std::sregex_iterator it(yaml.begin(), yaml.end(), mark), end; it != end; ++it) {
    const double x = std::stod((*it)[1]), y = std::stod((*it)[2]);
    filled.append(last, yaml.cbegin() + it->position());
    filled += "[" + (*it)[1].str() + ", " + (*it)[2].str() + ", " + std::to_string(1.01 * x) +
              ", " + std::to_string(1.01 * y) + "]";
    last = yaml.cbegin() + it->position() + it->length();
  }
  filled.append(last, yaml.cend());
  test::lay_tide_gauge(folder_);
  const auto board = folder_ / "board.yaml";
  test::write(board, test::read(board) + filled + "\n");
  const auto ran = test::isthmus({"fixture", board, "--stage", "etched", "--channels", "64",
                                  "--contact-check", "--out", folder_ / "f.yaml"});
  EXPECT_EQ(ran.code, 0) << ran.err << filled;
  EXPECT_NE((ran.out + ran.err).find("1.0"), std::string::npos) << ran.out << ran.err;
}

TEST_F(CapabilityPage, ReplacesNoFile) {
  page();
  test::write(folder_ / "print.html", "mine");
  const auto ran = inspect({"--page", folder_ / "print.html"});
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find("CLI-030"), std::string::npos);
  EXPECT_EQ(test::read(folder_ / "print.html"), "mine");
}

}  // namespace
}  // namespace isthmus
