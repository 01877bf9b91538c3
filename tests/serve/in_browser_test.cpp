// SPDX-License-Identifier: Apache-2.0
// The page in Chromium, told a guide's events one by one: what it shows must be what it was told.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "isthmus/report/guide_page.hpp"
#include "isthmus/serve/guide_page.hpp"
#include "tests/serve/browser.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::serve {
namespace {

class InBrowser : public ::testing::Test {
 protected:
  void SetUp() override {
    ISTHMUS_NEEDS_BROWSER();
    static const test::SmallBoard kBoard;
    auto opened = GuidePage::open(report::guide_board_json(kBoard.board(), "Goggles on."), 0);
    ASSERT_TRUE(opened);
    page = std::move(*opened);
    browser = std::make_unique<test::Browser>();
    browser->go(page->address());
    ASSERT_TRUE(browser->becomes("document.querySelector('#begin').open"));
    browser->click("#without-sound");
    tell(R"("event":"start","board":"small","stage":"joined","channels":16,"needles":[],)"
         R"("touches":9,"minutes":[1,2],"page":null)");
  }
  void TearDown() override {
    if (!browser) return;
    EXPECT_EQ(browser->console(), std::vector<std::string>{});
    for (const std::string& url : browser->requests()) EXPECT_EQ(url.find(address), 0u) << url;
  }

  void tell(const std::string& fields) {
    if (address.empty()) address = page->address();
    page->tell(fmt::format("{{\"n\":{},{}}}", ++n, fields));
    ASSERT_TRUE(browser->becomes(fmt::format("document.body.dataset.n === '{}'", n)));
  }
  void touch(const std::string& point, const std::string& net, double x, double y,
             const std::string& side = "top", const std::string& more = "") {
    tell(fmt::format(R"("event":"touch","touch":{},"left":8,"needle":0,"channel":15,"fork":null,)"
                     R"("point":"{}","net":"{}","side":"{}","x_mm":{},"y_mm":{},"where":)"
                     R"("1.00 mm above U1.1","again":false,"why":null,"turn_over":{},)"
                     R"("likelihood":0.1{})",
                     ++touches, point, net, side, x, y, side == "bottom", more));
  }
  // Middle of the ring on a picture, in mm of the artwork seen from that side; y up.
  std::pair<double, double> ring(const std::string& picture) {
    const auto at = browser->run("const c = document.querySelector('" + picture +
                                 " circle.target.over'); return [Number(c.getAttribute('cx')), "
                                 "-Number(c.getAttribute('cy'))]");
    return {at[0], at[1]};
  }
  std::string answer() {
    for (int i = 0; i < 500; ++i) {
      if (const auto line = page->heard()) return *line;
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    return "";
  }

  int n = 0, touches = 0;
  std::string address;
  std::unique_ptr<GuidePage> page;
  std::unique_ptr<test::Browser> browser;
};

TEST_F(InBrowser, ShowsTheTargetOfEachTouch) {
  touch("U2.1", "ALPHA", 12, 2);
  EXPECT_EQ(browser->text("#target"), "U2.1");
  EXPECT_EQ(browser->text("#where"), "1.00 mm above U1.1");
  EXPECT_EQ(ring("#whole"), (std::pair{12.0, 2.0}));
  EXPECT_EQ(ring("#close"), (std::pair{12.0, 2.0}));
  touch("J1.3", "FOXTROT", 14, 10);
  EXPECT_EQ(browser->text("#target"), "J1.3");
  EXPECT_EQ(ring("#whole"), (std::pair{14.0, 10.0}));
}

// Turned over left to right, what lies at x is seen at -x.
TEST_F(InBrowser, ShowsTheBottomMirroredAndSaysToTurnTheBoardOver) {
  touch("VIA@22.000,6.000", "DELTA", 22, 6, "bottom");
  EXPECT_EQ(ring("#whole"), (std::pair{-22.0, 6.0}));
  EXPECT_EQ(browser->text("#turn .words"), "Turn the board over: bottom side up");
  EXPECT_NE(browser->text("#whole figcaption").find("mirrored"), std::string::npos);
}

// A quarter turn to the right takes what was above to the right: (x, y) to (y, -x).
TEST_F(InBrowser, TurnsPictureAndWordsAsTheBoardLies) {
  touch("U1.2", "BETA", 2, 3);
  browser->click("[data-turn='90']");
  ASSERT_TRUE(browser->becomes("document.querySelector('#turned').innerText === '90°'"));
  const auto [x, y] = ring("#whole");
  EXPECT_NEAR(x, 3, 1e-9);
  EXPECT_NEAR(y, -2, 1e-9);
  EXPECT_EQ(browser->text("#where"), "from U1.1: 1.00 mm to the right");
  browser->click("[data-turn='-90']");
}

TEST_F(InBrowser, SaysWhatWasReadAndWhatIsToBeDone) {
  touch("U2.1", "ALPHA", 12, 2);
  tell(R"("event":"landed","touch":1)");
  EXPECT_EQ(browser->text("#state .words"), "Hold still");
  tell(
      R"("event":"read","touch":1,"ohm":0.12,"predicted_ohm":0.038,"isolation":"good","against":4)");
  tell(R"("event":"booked","touch":1,"result":"good")");
  EXPECT_EQ(browser->text("#result .words"),
            "U2.1: good, 120 mΩ (copper alone 38.0 mΩ), isolated from 4 nets");
  EXPECT_EQ(browser->run("return document.body.dataset.state"), "good");
  tell(R"("event":"lift","needle":0)");
  EXPECT_EQ(browser->text("#state .words"), "Lift the needle");
}

TEST_F(InBrowser, NamesAWrongPadAndTheWayToTheRightOne) {
  touch("U2.1", "ALPHA", 12, 2);
  tell(R"("event":"landed","touch":1)");
  tell(R"("event":"wrong","touch":1,"wanted":"U2.1","heard":["U2.2"])");
  EXPECT_EQ(browser->text("#state .words"), "Wrong pad: that conducts like U2.2. Lift");
  EXPECT_EQ(browser->text("#where"), "U2.1 is 1.00 mm down of U2.2");
  EXPECT_EQ(browser->text("#result .words"), "");
}

TEST_F(InBrowser, ListsFindingsAsTheyComeWithTheirPlace) {
  tell(
      R"("event":"finding","kind":"bridge","nets":["ALPHA","BETA"],"parts":[],"suspects":[)"
      R"({"rank":1,"x_mm":7,"y_mm":2.5,"side":"top","likelihood":0.9,"path":[],"why":"0.5 mm gap"}])");
  EXPECT_EQ(browser->text("#findings li"),
            "Bridge ALPHA and BETA top, 7.00, 2.50 mm: 0.5 mm gapMended");
  EXPECT_EQ(browser->run("return document.querySelectorAll('#whole .suspect.over').length"), 1);
}

TEST_F(InBrowser, WhatIsMendedIsSaidBesideItsFindingAndWithdrawnThere) {
  for (const char* net : {"BETA", "GAMMA"})
    tell(std::string(R"("event":"finding","kind":"bridge","nets":["ALPHA",")") + net +
         R"("],"parts":[],"suspects":[])");
  browser->click("#findings li:nth-child(2) button");
  EXPECT_EQ(answer(), "mended 2");
  tell(R"("event":"withdrawn","kind":"bridge","nets":["ALPHA","GAMMA"])");
  EXPECT_EQ(browser->run("return document.querySelectorAll('#findings li button').length"), 1);
  EXPECT_EQ(browser->text("#findings li.withdrawn"), "Bridge ALPHA and GAMMA no longer");
  tell(R"("event":"offer","findings":1)");
  EXPECT_EQ(browser->text("#state .words"),
            "Everything is read. Mend what was found and say so below, or end: Done");
}

// Where the other needle stays, and that nothing tells yet that this one stands.
TEST_F(InBrowser, SaysWhatTheOtherNeedleDoes) {
  tell(R"("event":"touch","touch":3,"left":4,"needle":1,"channel":14,"fork":null,"point":"J1.3",)"
       R"("net":"FOXTROT","side":"top","x_mm":14,"y_mm":10,"where":"","again":false,"why":null,)"
       R"("turn_over":false,"likelihood":0,"noticed":false,"beside":{"needle":0,"point":"J1.1",)"
       R"("net":"FOXTROT","side":"top","x_mm":4,"y_mm":10})");
  EXPECT_EQ(
      browser->text("#why"),
      "The first needle stays on J1.1. Hold it there: the other needle, which comes next, tells "
      "that it stands.");
  EXPECT_EQ(browser->run("return document.querySelectorAll('#whole .needle-1.over').length"), 1);
}

TEST_F(InBrowser, ListsTheClipsToFitUntilTheFirstLanding) {
  tell(R"("event":"clips","round":1,"of":1,"remove":[],"clips":[{"channel":3,"point":"J1.1",)"
       R"("net":"FOXTROT","side":"top","x_mm":4,"y_mm":10}])");
  touch("J1.3", "FOXTROT", 14, 10);
  EXPECT_EQ(browser->text("#clips li"), "3J1.1FOXTROT, top side");
  tell(R"("event":"landed","touch":1)");
  tell(R"("event":"clip","channel":3,"point":"J1.1","what":"proven","with":null)");
  EXPECT_EQ(browser->run("return document.querySelector('#clips').hidden"), true);
  tell(R"("event":"clip","channel":3,"point":"J1.1","what":"lost","with":null)");
  EXPECT_EQ(browser->text("#alerts"), "Clip 3 on J1.1 no longer conducts: see to it.");
}

TEST_F(InBrowser, ShowsHowMuchIsExcludedAndLeft) {
  tell(
      R"("event":"coverage","likelihood":0.639,"touches_done":8,"touches_left":4,"minutes_left":[3.2,5.1])");
  touch("J1.3", "FOXTROT", 14, 10);
  EXPECT_EQ(browser->text("#progress-words"),
            "63 % of what is likely excluded · 8 touches to go, 4 to 6 minutes");
}

TEST_F(InBrowser, AnswersByKeyAndByButton) {
  browser->key("a");
  EXPECT_EQ(answer(), "again");
  browser->key("\uE007");  // Enter, by WebDriver 17.4.2
  EXPECT_EQ(answer(), "done");
  browser->click("[data-answer='cannot-reach']");
  EXPECT_EQ(answer(), "cannot-reach");
  browser->key("p");
  EXPECT_EQ(answer(), "pause");
  tell(R"("event":"pause","touch":1,"why":"")");
  EXPECT_EQ(browser->text("#state .words"), "Pause");
  browser->key("p");
  EXPECT_EQ(answer(), "resume");
}

TEST_F(InBrowser, AsksBeforeAPadIsLeftOutAndBeforeTheEnd) {
  browser->key("s");
  ASSERT_TRUE(browser->becomes("document.querySelector('#skip').open"));
  browser->run("document.querySelector('#skip-why').value = 'under the clip'");
  browser->click("#skip [value=yes]");
  EXPECT_EQ(answer(), "skip under the clip");
  browser->key("q");
  ASSERT_TRUE(browser->becomes("document.querySelector('#quit').open"));
  browser->click("#quit [value=no]");
  browser->key("q");
  browser->click("#quit [value=yes]");
  EXPECT_EQ(answer(), "quit");
  EXPECT_EQ(page->heard(), std::nullopt);
}

TEST_F(InBrowser, ReloadedOrReopenedItLosesNothing) {
  touch("U2.1", "ALPHA", 12, 2);
  tell(R"("event":"landed","touch":1)");
  tell(
      R"("event":"read","touch":1,"ohm":0.12,"predicted_ohm":null,"isolation":"good","against":4)");
  tell(R"("event":"booked","touch":1,"result":"good")");
  tell(R"("event":"finding","kind":"open","nets":["ECHO"],"parts":[],"suspects":[])");
  touch("J1.3", "FOXTROT", 14, 10);
  const std::string shown = browser->text("main");
  browser->go(address);
  browser->click("#without-sound");
  ASSERT_TRUE(browser->becomes(fmt::format("document.body.dataset.n === '{}'", n)));
  EXPECT_EQ(browser->text("main"), shown);
  const std::string old = browser->window(), fresh = browser->new_window();
  browser->close_window();
  browser->enter(fresh);
  browser->go(address);
  ASSERT_TRUE(browser->becomes(fmt::format("document.body.dataset.n === '{}'", n)));
  browser->click("#without-sound");
  EXPECT_EQ(browser->text("main"), shown);
  ASSERT_TRUE(browser->becomes("!document.querySelector('[data-answer=done]').disabled"));
  browser->key("a");
  EXPECT_EQ(answer(), "again");
}

TEST_F(InBrowser, ASecondWindowOnlyWatchesAndSaysSo) {
  browser->enter(browser->new_window());
  browser->go(address);
  ASSERT_TRUE(browser->becomes("!document.querySelector('#role').hidden"));
  browser->click("#without-sound");
  EXPECT_EQ(browser->text("#role"), "This browser only watches.");
  EXPECT_EQ(browser->run("return document.querySelector('[data-answer=done]').disabled"), true);
  browser->key("a");
  touch("J1.3", "FOXTROT", 14, 10);
  EXPECT_EQ(browser->text("#target"), "J1.3");
  EXPECT_EQ(page->heard(), std::nullopt);
}

TEST_F(InBrowser, ShowsTheVerdictAndKeepsItWhenTheProgramHasEnded) {
  tell(R"("event":"end","verdict":"incomplete")");
  page.reset();
  std::this_thread::sleep_for(std::chrono::seconds(2));
  EXPECT_EQ(browser->text("#state .words"), "Incomplete: something stays untested or doubtful.");
}

// One colour scheme and the other, phone to bench monitor: nothing is wider than the window.
TEST_F(InBrowser, FitsEveryWidth) {
  touch("VIA@22.000,6.000", "DELTA", 22, 6);
  for (const char* theme : {"light", "dark"}) {
    browser->click(fmt::format("[name=theme][value={}]", theme));
    for (const int width : {390, 1000, 1600}) {
      browser->size(width, 800);
      EXPECT_TRUE(
          browser->becomes(fmt::format("innerWidth === {0} && "
                                       "document.documentElement.scrollWidth <= {0}",
                                       width)))
          << theme << " " << width;
    }
  }
}

}  // namespace
}  // namespace isthmus::serve
