// SPDX-License-Identifier: Apache-2.0
// The report's page printed by Chromium and measured by poppler's tools.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>

#include "tests/report/faulty_run.hpp"
#include "tests/serve/browser.hpp"

namespace isthmus::report {
namespace {

std::string output_of(const std::string& command) {
  std::string out;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return out;
  std::array<char, 4096> buffer{};
  for (std::size_t n = 0; (n = fread(buffer.data(), 1, buffer.size(), pipe)) > 0;)
    out.append(buffer.data(), n);
  pclose(pipe);
  return out;
}

class PageOnPaper : public ::testing::Test {
 protected:
  void SetUp() override {
    ISTHMUS_NEEDS_BROWSER();
    if (output_of("command -v pdftoppm").empty())
      GTEST_SKIP() << "no pdftoppm: apt-get install poppler-utils";
    dir = std::filesystem::temp_directory_path() / fmt::format("isthmus-paper-{}", getpid());
    std::filesystem::create_directories(dir);
    browser = std::make_unique<test::Browser>();
  }
  void TearDown() override { std::filesystem::remove_all(dir); }

  void print(const RunView& run, const std::string& choice) {
    std::ofstream(dir / "page.html") << run_html(run, board());
    browser->go("file://" + (dir / "page.html").string());
    browser->click("#" + choice);
    browser->print((dir / "page.pdf").string());
  }
  static const expect::Board& board() {
    static const test::SmallBoard kBoard;
    return kBoard.board();
  }
  // The text of each page.
  [[nodiscard]] std::vector<std::string> pages() const {
    std::stringstream text(output_of("pdftotext -layout " + (dir / "page.pdf").string() + " -"));
    std::vector<std::string> list;
    for (std::string page; std::getline(text, page, '\f');) list.push_back(page);
    return list;
  }

  std::filesystem::path dir;
  std::unique_ptr<test::Browser> browser;
};

bool says(const std::string& page, const std::string& pattern) {
  return std::regex_search(page, std::regex(pattern));
}

// The heading of finding N, the words under its picture, the first row of its table.
struct Parts {
  bool heading, picture, table;
};
Parts parts_of(const std::string& page, int n) {
  return {says(page, fmt::format("(^|\\s){}[.] (Open|Bridge): ", n)),
          says(page, fmt::format("(^|\\s){} -?[0-9.]+, -?[0-9.]+\\s+mm,", n)),
          says(page, fmt::format("(^|\\s){} +(x )?-?[0-9]+[.][0-9]{{3}} ", n))};
}

TEST_F(PageOnPaper, TenFindingsTakeTwoPages) {
  print(test::with_findings(test::faulty_run(board()), 10), "paper-short");
  const auto list = pages();
  ASSERT_EQ(list.size(), 2u);
  for (int n = 1; n <= 10; ++n) {
    EXPECT_TRUE(parts_of(list[1], n).heading) << n << "\n" << list[1];
    EXPECT_TRUE(says(list[0], fmt::format("(^|\\s){}\\s+(Open|Bridge): ", n))) << n << list[0];
  }
  EXPECT_NE(list[1].find("What the verdict rests on"), std::string::npos);
}

TEST_F(PageOnPaper, NoTableIsTornFromItsPicture) {
  print(test::with_findings(test::faulty_run(board()), 25), "paper-all");
  int found = 0;
  const auto list = pages();
  EXPECT_GT(list.size(), 6u);
  for (const std::string& page : list) {
    for (int n = 1; n <= 25; ++n) {
      const Parts p = parts_of(page, n);
      found += p.heading ? 1 : 0;
      EXPECT_EQ(p.heading, p.picture) << n << "\n" << page;
      EXPECT_EQ(p.heading, p.table) << n << "\n" << page;
    }
  }
  EXPECT_EQ(found, 25);
}

struct Grey {
  std::size_t w{}, h{};
  std::string bytes;
  [[nodiscard]] bool black(std::size_t x, std::size_t y) const {
    return static_cast<unsigned char>(bytes[y * w + x]) < 25;
  }
};

Grey read_pgm(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  Grey g;
  std::string magic;
  std::size_t most = 0;
  in >> magic >> g.w >> g.h >> most;
  in.get();
  g.bytes.assign(std::istreambuf_iterator<char>(in), {});
  EXPECT_EQ(magic, "P5");
  EXPECT_EQ(g.bytes.size(), g.w * g.h);
  return g;
}

// The longest line of black, in pixels; across or down.
std::size_t longest(const Grey& g, bool across) {
  std::size_t best = 0;
  for (std::size_t a = 0; a < (across ? g.h : g.w); ++a) {
    std::size_t run = 0;
    for (std::size_t b = 0; b < (across ? g.w : g.h); ++b) {
      run = (across ? g.black(b, a) : g.black(a, b)) ? run + 1 : 0;
      best = std::max(best, run);
    }
  }
  return best;
}

TEST_F(PageOnPaper, TheCheckBarsOfTheOverlayMeasureFiftyMillimetres) {
  print(test::faulty_run(board()), "paper-overlay");
  const std::string stem = (dir / "sheet").string();
  output_of("pdftoppm -r 600 -gray " + (dir / "page.pdf").string() + " " + stem);
  std::size_t sheets = 0;
  for (const auto& entry : std::filesystem::directory_iterator(dir)) {
    if (entry.path().extension() != ".pgm") continue;
    ++sheets;
    const Grey g = read_pgm(entry.path().string());
    for (bool across : {true, false})
      EXPECT_NEAR(static_cast<double>(longest(g, across)) * 25.4 / 600, 50.0, 0.1) << across;
  }
  EXPECT_EQ(sheets, 2u);  // top and bottom
}

}  // namespace
}  // namespace isthmus::report
