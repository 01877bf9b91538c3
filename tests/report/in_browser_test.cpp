// SPDX-License-Identifier: Apache-2.0
// The report's page in Chromium: what a person does with it, by mouse, keys and fingers.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "tests/report/faulty_run.hpp"
#include "tests/serve/browser.hpp"

namespace isthmus::report {
namespace {

using Json = nlohmann::json;

class PageInBrowser : public ::testing::Test {
 protected:
  void SetUp() override {
    ISTHMUS_NEEDS_BROWSER();
    browser = std::make_unique<test::Browser>();
    browser->size(1000, 900);
    open(run_html(test::faulty_run(board()), board()));
  }
  void TearDown() override {
    if (!browser) return;
    EXPECT_EQ(browser->console(), std::vector<std::string>{});
    for (const std::string& url : browser->requests())
      EXPECT_TRUE(url == address || url == "data:,") << url;
    std::filesystem::remove(file);
  }
  static const expect::Board& board() {
    static const test::SmallBoard kBoard;
    return kBoard.board();
  }
  void open(const std::string& page) {
    file = std::filesystem::temp_directory_path() / fmt::format("isthmus-page-{}.html", getpid());
    std::ofstream(file) << page;
    address = "file://" + file.string();
    browser->go(address);
  }
  // What is seen of a side: x, y, w, h.
  std::array<double, 4> seen(const std::string& side = "top") {
    return browser->run("return document.querySelector('#side-" + side +
                        " svg.board').getAttribute('viewBox').split(' ').map(Number)");
  }
  std::string said() { return browser->text("#said"); }
  void focus(const std::string& selector) {
    browser->run("document.querySelector('" + selector + "').focus()");
  }
  // The middle of the top side on the screen, px.
  std::array<int, 2> middle() {
    return browser->run(
        "const s = document.querySelector('#side-top svg.board'); s.scrollIntoView({block: "
        "'center'}); const r = s.getBoundingClientRect(); return [Math.round(r.x + r.width / 2), "
        "Math.round(r.y + r.height / 2)]");
  }

  std::filesystem::path file;
  std::string address;
  std::unique_ptr<test::Browser> browser;
};

TEST_F(PageInBrowser, TheListJumpsToThePlaceOnTheBoard) {
  const auto whole = seen();
  const auto at = test::faulty_run(board()).result.diagnosis.findings.at(1).suspects.at(0).at;
  browser->click(".list li:nth-child(2) .jump");
  const auto [x, y, w, h] = seen();
  EXPECT_LT(w, 0.7 * whole[2]);
  EXPECT_LT(x, to_mm(at.x));
  EXPECT_GT(x + w, to_mm(at.x));
  EXPECT_LT(y, -to_mm(at.y));
  EXPECT_GT(y + h, -to_mm(at.y));
  EXPECT_EQ(browser->run("return document.querySelector('.current').id"), "mark-2-1");
  EXPECT_EQ(browser->run("return document.activeElement.parentElement.id"), "side-top");
  EXPECT_EQ(said().find("Finding 2, place 1: top, "), 0u) << said();
}

// Turned over left to right, what lies at x is seen at -x.
TEST_F(PageInBrowser, AJumpToTheBottomIsMirrored) {
  RunView run = test::faulty_run(board());
  diagnose::Suspect& s = run.result.diagnosis.findings.at(1).suspects.at(0);
  s.side = "bottom";
  s.at = position_mm(22, 6);
  s.path = {s.at};
  open(run_html(run, board()));
  browser->click("#finding-2 table a");
  const auto [x, y, w, h] = seen("bottom");
  EXPECT_LT(w, 12);
  EXPECT_LT(x, -22);
  EXPECT_GT(x + w, -22);
  EXPECT_LT(y, -6);
  EXPECT_GT(y + h, -6);
  EXPECT_EQ(browser->run("return document.activeElement.parentElement.id"), "side-bottom");
  EXPECT_NE(browser->text("#finding-2 figcaption").find("mirrored"), std::string::npos);
  // The close-up is turned over too: its picture spans -22.
  const std::array<double, 4> close = browser->run(
      "return document.querySelector('#finding-2 .closeups svg').getAttribute('viewBox')."
      "split(' ').map(Number)");
  EXPECT_NEAR(close[0] + close[2] / 2, -22, 1e-3);
  // 80 mm show 4 mm of board.
  EXPECT_NE(browser->text("#finding-2 figcaption").find("20\u00d7, 4.0 mm across"),
            std::string::npos);
}

TEST_F(PageInBrowser, NumbersAreTheSameInListBoardAndCloseUp) {
  for (int n : {1, 2}) {
    const std::string list = browser->text(fmt::format(".list li:nth-child({}) .number", n));
    EXPECT_EQ(list, std::to_string(n));
    const auto text = [&](const std::string& selector) {
      return browser->run("return document.querySelector('" + selector + "').textContent");
    };
    EXPECT_EQ(text(fmt::format("#mark-{}-1 text", n)), list);
    EXPECT_EQ(text(fmt::format("#finding-{} .closeups figure .mark.first text", n)), list);
    EXPECT_EQ(text(fmt::format("#finding-{} .closeups figcaption b", n)), list);
    EXPECT_EQ(browser->text(fmt::format("#finding-{} h3", n)).substr(0, 2), list + ".");
  }
}

TEST_F(PageInBrowser, FindsPadsAndNetsByTheirNames) {
  focus("#search");
  for (const char* k : {"u", "2", ".", "1"}) browser->key(k);
  EXPECT_EQ(browser->text("#hits li"), "U2.1, net ALPHA");
  browser->key("\uE007");  // Enter, by WebDriver 17.4.2
  EXPECT_EQ(browser->run("return document.querySelector('.sought').getAttribute('transform')"),
            "translate(12 2)");  // as the small board is drawn
  EXPECT_EQ(said(), "U2.1, net ALPHA, 12.00, 2.00 mm, top");
  browser->run(
      "document.querySelector('#search').value = 'delta'; "
      "document.querySelector('#search').dispatchEvent(new Event('input'))");
  browser->click("#hits button");
  EXPECT_EQ(said().find("Net DELTA: "), 0u) << said();
  // Its copper on both sides, through the via.
  EXPECT_GE(browser->run("return document.querySelectorAll('#side-top .lit').length"), 1);
  EXPECT_GE(browser->run("return document.querySelectorAll('#side-bottom .lit').length"), 1);
  browser->run(
      "document.querySelector('#search').value = 'nowhere'; "
      "document.querySelector('#search').dispatchEvent(new Event('input'))");
  EXPECT_EQ(said(), "Nothing of this name");
}

TEST_F(PageInBrowser, IsMovedByKeys) {
  const auto whole = seen();
  focus("#side-top .stage");
  browser->key("+");
  const auto closer = seen();
  EXPECT_NEAR(closer[2], 0.6 * whole[2], 1e-6);
  browser->key("\uE014");  // right arrow
  EXPECT_GT(seen()[0], closer[0]);
  EXPECT_EQ(seen("bottom"), (std::array{seen("bottom")[0], whole[1], whole[2], whole[3]}));
  browser->key("0");
  EXPECT_EQ(seen(), whole);
  browser->key("n");
  EXPECT_EQ(browser->run("return document.querySelector('.current').id"), "mark-1-1");
  browser->key("p");
  EXPECT_EQ(browser->run("return document.querySelector('.current').id"), "mark-2-1");
  browser->key("/");
  EXPECT_EQ(browser->run("return document.activeElement.id"), "search");
}

Json pointer(const char* id, const char* type, const std::vector<std::array<int, 2>>& way) {
  Json actions = Json::array();
  for (std::size_t i = 0; i < way.size(); ++i) {
    actions.push_back(
        {{"type", "pointerMove"}, {"duration", 50}, {"x", way[i][0]}, {"y", way[i][1]}});
    if (i == 0) actions.push_back({{"type", "pointerDown"}, {"button", 0}});
  }
  actions.push_back({{"type", "pointerUp"}, {"button", 0}});
  return {{"type", "pointer"},
          {"id", id},
          {"parameters", {{"pointerType", type}}},
          {"actions", actions}};
}

TEST_F(PageInBrowser, IsMovedByMouseAndWheel) {
  const auto whole = seen();
  const auto [x, y] = middle();
  browser->act(
      Json::array({pointer("mouse", "mouse", {{x, y}})}));  // a click: then the wheel zooms
  browser->act(
      {{{"type", "wheel"},
        {"id", "wheel"},
        {"actions", {{{"type", "scroll"}, {"x", x}, {"y", y}, {"deltaX", 0}, {"deltaY", -200}}}}}});
  ASSERT_TRUE(browser->becomes(
      fmt::format("Number(document.querySelector('#side-top svg.board').getAttribute('viewBox')."
                  "split(' ')[2]) < {}",
                  0.9 * whole[2])));
  const auto before = seen();
  browser->act(Json::array({pointer("mouse", "mouse", {{x, y}, {x + 60, y}})}));
  const double px = before[2] / browser
                                    ->run(
                                        "return document.querySelector('#side-top svg.board')."
                                        "clientWidth")
                                    .get<double>();
  EXPECT_NEAR(before[0] - seen()[0], 60 * px, 1.5 * px);
}

TEST_F(PageInBrowser, IsZoomedByTwoFingers) {
  const auto whole = seen();
  const auto [x, y] = middle();
  browser->act(Json::array({pointer("one", "touch", {{x - 20, y}, {x - 80, y}}),
                            pointer("two", "touch", {{x + 20, y}, {x + 80, y}})}));
  EXPECT_LT(seen()[2], 0.5 * whole[2]);
}

TEST_F(PageInBrowser, DrawsWhatWasNotTested) {
  const Json titles = browser->run(
      "return [...document.querySelectorAll('#side-top .mark.doubt title')].map(t => "
      "t.textContent)");
  EXPECT_EQ(titles, Json({"not tested: U1.3 (N/C(U1.3)): no-contact"}));
  browser->click("#show-doubt");
  EXPECT_EQ(browser->run("return getComputedStyle(document.querySelector('#side-top "
                         ".mark.doubt')).display"),
            "none");
}

TEST_F(PageInBrowser, FitsEveryWidthInBothColourSchemes) {
  for (const char* theme : {"light", "dark"}) {
    browser->prefer(theme);
    for (const int width : {390, 1000, 1600}) {
      browser->size(width, 900);
      EXPECT_TRUE(browser->becomes(
          fmt::format("innerWidth === {0} && document.documentElement.scrollWidth <= {0}", width)))
          << theme << " " << width;
    }
  }
}

TEST_F(PageInBrowser, FollowsTheSystemsColoursUnlessTold) {
  const auto paper = [this] {
    return browser->run("return getComputedStyle(document.querySelector('main')).backgroundColor");
  };
  browser->prefer("light");
  const Json light = paper();
  browser->prefer("dark");
  const Json dark = paper();
  EXPECT_NE(light, dark);
  browser->click("#theme-light");
  EXPECT_EQ(paper(), light);
  browser->prefer("light");
  browser->click("#theme-dark");
  EXPECT_EQ(paper(), dark);
}

using Colour = std::array<double, 3>;  // linear light, red, green, blue

// WCAG 2.2, relative luminance and contrast ratio.
double luminance(const Colour& c) { return 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2]; }
double contrast(const Colour& a, const Colour& b) {
  const double x = luminance(a), y = luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

// As seen without the red, the green or the blue receptors: Machado, Oliveira, Fernandes 2009,
// severity 1, on linear light. Grey for who sees no colours at all.
std::vector<std::pair<std::string, std::array<Colour, 3>>> ways_to_see() {
  return {{"usual", {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}}},
          {"no red",
           {{{0.152286, 1.052583, -0.204868},
             {0.114503, 0.786281, 0.099216},
             {-0.003882, -0.048116, 1.051998}}}},
          {"no green",
           {{{0.367322, 0.860646, -0.227968},
             {0.280085, 0.672501, 0.047413},
             {-0.011820, 0.042940, 0.968881}}}},
          {"no blue",
           {{{1.255528, -0.076749, -0.178779},
             {-0.078411, 0.930809, 0.147602},
             {0.004733, 0.691367, 0.303900}}}},
          {"no colour",
           {{{0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}, {0.2126, 0.7152, 0.0722}}}}};
}
Colour seen_by(const std::array<Colour, 3>& eye, const Colour& c) {
  Colour out{};
  for (std::size_t i = 0; i < 3; ++i) {
    out[i] = std::clamp(eye[i][0] * c[0] + eye[i][1] * c[1] + eye[i][2] * c[2], 0.0, 1.0);
  }
  return out;
}

// WCAG 2.2, 1.4.3 (text 4.5 to 1) and 1.4.11 (drawings 3 to 1).
TEST_F(PageInBrowser, ContrastHoldsForEveryEye) {
  struct Ask {
    const char *ink, *ground;
    double least;
  };
  constexpr std::array kAsks{Ask{"--ink", "--paper", 4.5},     Ask{"--quiet", "--paper", 4.5},
                             Ask{"--link", "--paper", 4.5},    Ask{"--fault", "--paper", 4.5},
                             Ask{"--further", "--paper", 4.5}, Ask{"--doubt", "--paper", 4.5},
                             Ask{"--sought", "--paper", 4.5},  Ask{"--copper", "--laminate", 3},
                             Ask{"--ink", "--copper", 3}};
  for (const char* theme : {"light", "dark"}) {
    browser->click(fmt::format("#theme-{}", theme));
    const auto colour = [this](const char* name) {
      const std::array<double, 3> bytes = browser->run(
          fmt::format("const e = document.createElement('i'); e.style.color = 'var({})'; "
                      "document.body.append(e); const c = getComputedStyle(e).color; e.remove(); "
                      "return c.match(/[0-9]+/g).slice(0, 3).map(Number)",
                      name));
      Colour c{};
      for (std::size_t i = 0; i < 3; ++i) {
        const double v = bytes[i] / 255;  // sRGB, IEC 61966-2-1
        c[i] = v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
      }
      return c;
    };
    for (const Ask& a : kAsks) {
      for (const auto& way : ways_to_see()) {
        EXPECT_GE(
            contrast(seen_by(way.second, colour(a.ink)), seen_by(way.second, colour(a.ground))),
            a.least)
            << theme << ", " << way.first << ": " << a.ink << " on " << a.ground;
      }
    }
  }
}

TEST_F(PageInBrowser, ReadsWithoutItsScript) {
  std::string page = run_html(test::faulty_run(board()), board());
  const std::size_t at = page.rfind("<script>"), end = page.rfind("</script>");
  page.erase(at, end - at + 9);
  open(page);
  EXPECT_EQ(browser->run("return document.querySelectorAll('script:not([type])').length"), 0);
  for (const char* part : {".list .jump", "#side-top svg.board", "#side-bottom svg.board",
                           "#finding-1 .closeups svg", "#nets td", ".basis"}) {
    EXPECT_TRUE(browser->run(
        fmt::format("return document.querySelector('{}').getBoundingClientRect().width > 0", part)))
        << part;
  }
  EXPECT_EQ(browser->run("return [...document.querySelectorAll('a[href^=\"#\"]')].filter(a => "
                         "!document.getElementById(a.getAttribute('href').slice(1))).length"),
            0);
  EXPECT_EQ(browser->run("return document.querySelector('#search').offsetWidth"), 0);
}

// What a screen reader needs: each picture, field and button has a name; no id stands twice; one
// heading of the first rank.
TEST_F(PageInBrowser, EverythingHasAName) {
  EXPECT_EQ(
      browser->run(
          "return [...document.querySelectorAll('svg')].filter(s => !s.closest('[aria-hidden]')"
          " && !s.getAttribute('aria-label')).length"),
      0);
  EXPECT_EQ(browser->run("return [...document.querySelectorAll('input')].filter(i => "
                         "i.labels.length === 0).length"),
            0);
  EXPECT_EQ(browser->run("return [...document.querySelectorAll('button')].filter(b => "
                         "!b.textContent.trim()).length"),
            0);
  EXPECT_EQ(browser->run("const ids = [...document.querySelectorAll('[id]')].map(e => e.id); "
                         "return ids.filter((id, i) => ids.indexOf(id) !== i)"),
            Json::array());
  EXPECT_EQ(browser->run("return document.querySelectorAll('h1').length"), 1);
}

}  // namespace
}  // namespace isthmus::report
