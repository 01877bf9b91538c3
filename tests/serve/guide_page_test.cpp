// SPDX-License-Identifier: Apache-2.0
// Who gets what from the page's server. What a server on this machine must refuse: Fetch (Origin,
// Sec-Fetch-Site) and DNS rebinding, against which RFC 9110, 7.2 (Host) is the check.
#include "isthmus/serve/guide_page.hpp"

#include <gtest/gtest.h>

#include <fstream>

#include "serve/files.hpp"
#include "tests/serve/listener.hpp"

namespace isthmus::serve {
namespace {

using httplib::Headers;
using test::Address, test::Listener;

class GuidePageTest : public ::testing::Test {
 protected:
  GuidePageTest() {
    auto opened = GuidePage::open("{\"board\":\"tide-gauge\"}", 0);
    if (!opened) throw std::runtime_error(opened.problem().message);
    page = std::move(*opened);
    at = std::make_unique<Address>(page->address());
    client = std::make_unique<httplib::Client>(at->host);
  }
  [[nodiscard]] httplib::Result get(const std::string& path, const Headers& with = {}) const {
    return client->Get(path, with);
  }
  [[nodiscard]] int says(const std::string& browser, const std::string& body, Headers with) const {
    const auto got = client->Post(at->base + "answer?browser=" + browser, with, body, "text/plain");
    return got ? got->status : -1;
  }
  [[nodiscard]] int says(const std::string& browser, const std::string& body) const {
    return says(browser, body, Headers{{"Origin", at->host}});
  }
  [[nodiscard]] bool drives(const std::string& browser) const {
    return says(browser, "mute") == 204;
  }
  static void expect_nothing(const httplib::Result& got, int status, const std::string& what) {
    ASSERT_TRUE(got) << what;
    EXPECT_EQ(got->status, status) << what;
    EXPECT_EQ(got->body, "") << what;
    EXPECT_FALSE(got->has_header("Content-Type")) << what;
  }

  std::unique_ptr<GuidePage> page;
  std::unique_ptr<Address> at;
  std::unique_ptr<httplib::Client> client;
};

TEST_F(GuidePageTest, GivesThePageAndItsFilesToWhoKnowsTheToken) {
  for (const File& file : page_files()) {
    const auto got = get(at->base + std::string(file.name));
    ASSERT_TRUE(got);
    EXPECT_EQ(got->status, 200);
    EXPECT_EQ(got->body, file.text);
    EXPECT_EQ(got->get_header_value("Content-Type"), file.type);
  }
  EXPECT_EQ(get(at->base + "board.json")->body, "{\"board\":\"tide-gauge\"}");
}

TEST_F(GuidePageTest, AllowsThePageNothingFromElsewhere) {
  const std::string policy = get(at->base)->get_header_value("Content-Security-Policy");
  EXPECT_EQ(policy.find("default-src 'none'"), 0u);
  EXPECT_EQ(policy.find("http"), std::string::npos);
  EXPECT_EQ(policy.find("unsafe"), std::string::npos);
  EXPECT_EQ(get(at->base)->get_header_value("Referrer-Policy"), "no-referrer");
}

TEST_F(GuidePageTest, HasATokenOf128BitsThatIsNeverTheSame) {
  EXPECT_EQ(at->base.size(), 34u);
  auto other = GuidePage::open("", 0);
  ASSERT_TRUE(other);
  EXPECT_NE(Address((*other)->address()).base, at->base);
}

TEST_F(GuidePageTest, GivesNothingWithoutTheToken) {
  std::string almost = at->base;
  almost[32] = almost[32] == '0' ? '1' : '0';
  for (const std::string& path :
       {std::string("/"), std::string("/events?browser=aaaaaaaa"), std::string("/board.json"),
        std::string("/guide.js"), std::string("//"), almost, almost + "board.json",
        at->base.substr(0, 33), at->base.substr(0, 20) + "/", "/." + at->base})
    expect_nothing(get(path), 404, path);
}

TEST_F(GuidePageTest, GivesNothingButThePageAndItsData) {
  for (const std::string path : {"x", "../", "../../etc/passwd", "guide.js/x", "%2e%2e/", "answer"})
    expect_nothing(get(at->base + path), 404, path);
}

TEST_F(GuidePageTest, GivesNothingToAnotherHost) {
  const std::string port = at->host.substr(at->host.rfind(':'));
  for (const std::string& host : {std::string("elsewhere.example"), "elsewhere.example" + port,
                                  "localhost" + port, std::string("127.0.0.1")})
    expect_nothing(get(at->base, {{"Host", host}}), 403, host);
}

TEST_F(GuidePageTest, GivesNothingToAnotherOrigin) {
  for (const std::string& origin : {std::string("null"), std::string("http://elsewhere.example"),
                                    at->host + "0", std::string("https") + at->host.substr(4)})
    expect_nothing(get(at->base + "board.json", {{"Origin", origin}}), 403, origin);
  expect_nothing(get(at->base, {{"Sec-Fetch-Site", "cross-site"}}), 403, "cross-site");
  expect_nothing(get(at->base, {{"Sec-Fetch-Site", "same-site"}}), 403, "same-site");
}

TEST_F(GuidePageTest, TakesNoAnswerWithoutItsOwnOrigin) {
  Listener first(*at, "aaaaaaaa");
  ASSERT_TRUE(first.hears("drives"));
  EXPECT_EQ(says("aaaaaaaa", "done", {}), 403);
  EXPECT_EQ(says("aaaaaaaa", "done", {{"Origin", "http://elsewhere.example"}}), 403);
  EXPECT_EQ(page->heard(), std::nullopt);
  EXPECT_EQ(says("aaaaaaaa", "done"), 204);
  EXPECT_EQ(page->heard(), "done");
}

TEST_F(GuidePageTest, TakesNoAnswerThatIsNotOneShortLine) {
  Listener first(*at, "aaaaaaaa");
  ASSERT_TRUE(first.hears("drives"));
  EXPECT_EQ(says("aaaaaaaa", "done\nquit"), 400);
  EXPECT_EQ(says("aaaaaaaa", ""), 400);
  EXPECT_EQ(says("aaaaaaaa", std::string(600, 'x')), 413);
  EXPECT_EQ(page->heard(), std::nullopt);
}

// 0100007F is 127.0.0.1 in /proc/net/tcp (proc(5)).
TEST_F(GuidePageTest, ListensOnThisMachineAlone) {
  const int port = std::stoi(at->host.substr(at->host.rfind(':') + 1));
  std::array<char, 16> text{};
  std::snprintf(text.data(), text.size(), ":%04X ", static_cast<unsigned>(port));
  std::ifstream table("/proc/net/tcp");
  std::size_t found = 0;
  for (std::string line; std::getline(table, line);) {
    const bool listens = line.find(" 0A ") != std::string::npos;
    if (!listens || line.find(text.data()) == std::string::npos) continue;
    ++found;
    EXPECT_NE(line.find(std::string("0100007F") + text.data()), std::string::npos) << line;
  }
  EXPECT_EQ(found, 1u);
}

TEST_F(GuidePageTest, TellsABrowserThatComesLaterEverything) {
  for (int n = 1; n <= 300; ++n) page->tell("{\"n\":" + std::to_string(n) + "}");
  Listener late(*at, "aaaaaaaa");
  ASSERT_TRUE(late.hears("id: 300\ndata: {\"n\":300}\n\n"));
  EXPECT_NE(late.text().find("id: 1\ndata: {\"n\":1}\n\n"), std::string::npos);
  EXPECT_NE(late.text().find("event: known\ndata: 300\n"), std::string::npos);
}

// HTML, 9.2.4: a browser that lost its connection sends the id of the last event it has.
TEST_F(GuidePageTest, TellsABrowserThatComesAgainWhatItMissed) {
  for (int n = 1; n <= 5; ++n) page->tell("{\"n\":" + std::to_string(n) + "}");
  Listener again(*at, "aaaaaaaa", "3");
  ASSERT_TRUE(again.hears("id: 5\n"));
  page->tell("{\"n\":6}");
  ASSERT_TRUE(again.hears("id: 6\n"));
  EXPECT_EQ(again.text().find("id: 3\n"), std::string::npos);
  EXPECT_NE(again.text().find("id: 4\n"), std::string::npos);
}

TEST_F(GuidePageTest, LetsTheFirstBrowserDriveAndASecondOnlyWatch) {
  Listener first(*at, "aaaaaaaa");
  ASSERT_TRUE(first.hears("data: drives"));
  Listener second(*at, "bbbbbbbb");
  ASSERT_TRUE(second.hears("data: watches"));
  EXPECT_EQ(says("bbbbbbbb", "quit"), 409);
  EXPECT_EQ(says("cccccccc", "quit"), 409);
  EXPECT_EQ(page->heard(), std::nullopt);
  page->tell("{\"n\":1}");
  EXPECT_TRUE(second.hears("id: 1\n"));
}

TEST_F(GuidePageTest, KeepsADriversPlaceOverAReload) {
  auto first = std::make_unique<Listener>(*at, "aaaaaaaa");
  ASSERT_TRUE(first->hears("data: drives"));
  Listener second(*at, "bbbbbbbb");
  ASSERT_TRUE(second.hears("data: watches"));
  first.reset();
  Listener again(*at, "aaaaaaaa");
  EXPECT_TRUE(again.hears("data: drives"));
  EXPECT_FALSE(drives("bbbbbbbb"));
}

TEST_F(GuidePageTest, LetsTheNextDriveOnceTheFirstIsGone) {
  auto first = std::make_unique<Listener>(*at, "aaaaaaaa");
  ASSERT_TRUE(first->hears("data: drives"));
  Listener second(*at, "bbbbbbbb");
  ASSERT_TRUE(second.hears("data: watches"));
  first.reset();
  EXPECT_TRUE(second.hears("data: drives"));
  EXPECT_TRUE(drives("bbbbbbbb"));
}

TEST_F(GuidePageTest, TurnsNoMoreAwayThanItMust) {
  std::vector<std::unique_ptr<Listener>> all;
  for (int i = 0; i < 8; ++i) {
    all.push_back(std::make_unique<Listener>(*at, "aaaaaaa" + std::to_string(i)));
    ASSERT_TRUE(all.back()->hears("event: role"));
  }
  const auto one_more = get(at->base + "events?browser=bbbbbbbb");
  ASSERT_TRUE(one_more);
  EXPECT_EQ(one_more->status, 503);
  EXPECT_EQ(get(at->base)->status, 200);
}

TEST_F(GuidePageTest, EndsOnlyWhenAllHaveHeardTheEnd) {
  Listener first(*at, "aaaaaaaa");
  ASSERT_TRUE(first.hears("drives"));
  page->tell("{\"n\":1,\"event\":\"end\"}");
  page.reset();
  EXPECT_TRUE(first.hears("id: 1\ndata: {\"n\":1,\"event\":\"end\"}\n\n"));
}

TEST(GuidePagePort, ThatIsTakenIsSaid) {
  auto first = GuidePage::open("", 0);
  ASSERT_TRUE(first);
  const Address at((*first)->address());
  const int port = std::stoi(at.host.substr(at.host.rfind(':') + 1));
  const auto second = GuidePage::open("", port);
  ASSERT_FALSE(second);
  EXPECT_EQ(second.problem().code, "SRV-001");
  EXPECT_EQ(second.problem().message,
            "port " + std::to_string(port) + " cannot be had for the page");
}

}  // namespace
}  // namespace isthmus::serve
