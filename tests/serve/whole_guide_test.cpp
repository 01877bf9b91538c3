// SPDX-License-Identifier: Apache-2.0
// The programs as a person runs them: `isthmus guide`, a simulated hand at the bench, the page in
// Chromium. What the page says at the end must be what the program reports.
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <regex>
#include <thread>

#include "tests/pipeline/programs.hpp"
#include "tests/serve/browser.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;

void nap(int ms) { std::this_thread::sleep_for(std::chrono::milliseconds(ms)); }

// A program whose words go to files while it runs.
class Running {
 public:
  Running(const std::vector<std::string>& words, const fs::path& out, const fs::path& err)
      : err_(err) {
    pid_ = fork();
    if (pid_ != 0) return;
    if (!freopen("/dev/null", "r", stdin) || !freopen(out.c_str(), "w", stdout) ||
        !freopen(err.c_str(), "w", stderr))
      _exit(126);
    std::vector<const char*> argv;
    const std::string program = test::isthmus_program();
    argv.push_back(program.c_str());
    for (const std::string& w : words) argv.push_back(w.c_str());
    argv.push_back(nullptr);
    execv(program.c_str(), const_cast<char* const*>(argv.data()));
    _exit(127);
  }
  ~Running() {
    if (pid_ > 0) end(SIGKILL);
  }
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;

  // The address on its stderr.
  [[nodiscard]] std::string page() const {
    static const std::regex line("Page: (http://127\\.0\\.0\\.1:[0-9]+/[0-9a-f]{32}/)\n");
    for (int i = 0; i < 6000; ++i, nap(10)) {
      std::smatch found;
      const std::string text = fs::exists(err_) ? test::read(err_) : "";
      if (std::regex_search(text, found, line)) return found[1];
    }
    throw std::runtime_error("no page");
  }
  int wait() {
    int status = 0;
    waitpid(std::exchange(pid_, -1), &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }
  int end(int signal) {
    ::kill(pid_, signal);
    return wait();
  }

 private:
  fs::path err_;
  pid_t pid_{-1};
};

constexpr const char* kEnded =
    "/^(Pass|Fail|Incomplete)/.test(document.querySelector('#state .words').textContent)";

// Two faults on the small board: a bridge of ALPHA and BETA, and ECHO cut in two.
class WholeGuide : public ::testing::Test {
 protected:
  void SetUp() override {
    ISTHMUS_NEEDS_BROWSER();
    browser = std::make_unique<test::Browser>();
  }
  [[nodiscard]] std::unique_ptr<Running> guide(const std::string& name, const std::string& clock,
                                               const std::string& hand,
                                               const std::string& more = "--mute") const {
    const fs::path dir = board.dir();
    test::write(
        dir / "bench.yaml",
        fmt::format("isthmus: 1\nboard: board.yaml\nchannels: 8\nseed: 3\nclock: {}\nhand: {{{}}}\n"
                    "defects:\n"
                    "  - {{kind: bridge, from: [7, 2], to: [7, 3], side: top, width: 0.3}}\n"
                    "  - {{kind: open, at: [7, 7], side: top, diameter: 0.8}}\n",
                    clock, hand));
    return std::make_unique<Running>(
        std::vector<std::string>{"guide", dir / "board.yaml", "--adapter",
                                 "sim:" + (dir / "bench.yaml").string(), "--channels", "8",
                                 "--needles", "2", "--contact-check", "--json", "--unit", "7",
                                 "--record", dir / "runs.db", more},
        dir / (name + ".json"), dir / (name + ".txt"));
  }
  // A hand ten times as fast as a person, in real time: slow enough for a browser to be there.
  [[nodiscard]] std::unique_ptr<Running> slow_guide(const std::string& name,
                                                    const std::string& more = "--mute") const {
    return guide(name, "real", "pace: 0.1", more);
  }
  void look_at(const std::string& address) {
    browser->go(address);
    ASSERT_TRUE(browser->becomes("document.querySelector('#begin').open"));
    browser->click("#without-sound");
  }
  bool shows(const std::string& what) { return browser->becomes(what, 120); }
  [[nodiscard]] std::string said(const std::string& name) const {
    return test::read(board.dir() / (name + ".txt"));
  }

  test::SmallBoard board;
  std::unique_ptr<test::Browser> browser;
};

// As the page words them.
std::vector<std::string> findings_of(const nlohmann::json& report) {
  std::vector<std::string> all;
  for (const auto& f : report.at("findings")) {
    std::string kind = f.at("kind");
    kind[0] = static_cast<char>(kind[0] - 'a' + 'A');
    all.push_back(
        kind + " " +
        fmt::format("{}", fmt::join(f.at("nets").get<std::vector<std::string>>(), " and ")));
  }
  return all;
}

TEST_F(WholeGuide, ShowsEveryTargetAndAllThatWasFound) {
  auto program = slow_guide("run");
  const std::string address = program->page();
  look_at(address);
  std::size_t targets = 0;
  std::string last;
  for (int i = 0; i < 3000 && !browser->run(std::string("return ") + kEnded).get<bool>(); ++i) {
    const std::string target = browser->text("#target");
    if (!target.empty() && target != last) {
      ++targets;
      EXPECT_NE(said("run").find(target + " ("), std::string::npos) << target;
      last = target;
    }
    nap(40);
  }
  EXPECT_EQ(program->wait(), 1) << said("run");
  const auto report = nlohmann::json::parse(test::read(board.dir() / "run.json"));
  EXPECT_GT(targets, 5u);
  EXPECT_FALSE(findings_of(report).empty());
  const std::string found = browser->text("#findings");
  for (const std::string& f : findings_of(report))
    EXPECT_NE(found.find(f), std::string::npos) << f << " in " << found;
  EXPECT_EQ(browser->text("#state .words"), "Fail: faults were found.");
  EXPECT_EQ(browser->console(), std::vector<std::string>{});
  for (const std::string& url : browser->requests()) EXPECT_EQ(url.find(address), 0u) << url;
}

TEST_F(WholeGuide, PausedReloadedAndResumedFromThePageGoesOn) {
  auto program = slow_guide("run");
  look_at(program->page());
  ASSERT_TRUE(shows("document.querySelector('#target').innerText"));
  browser->click("#pause");
  ASSERT_TRUE(shows("document.body.dataset.state === 'paused'"));
  const std::string n = browser->run("return document.body.dataset.n");
  look_at(program->page());
  ASSERT_TRUE(shows("document.body.dataset.state === 'paused'"));
  EXPECT_EQ(browser->run("return document.body.dataset.n"), n);
  ASSERT_TRUE(shows("!document.querySelector('#pause').disabled"));
  browser->click("#pause");
  ASSERT_TRUE(shows(kEnded));
  EXPECT_EQ(program->wait(), 1);
}

TEST_F(WholeGuide, KilledItIsSaidToBeGoneAndResumedItEndsOnAPageOfItsOwn) {
  auto program = slow_guide("first");
  const std::string address = program->page();
  look_at(address);
  ASSERT_TRUE(shows("document.body.dataset.n > 30"));
  EXPECT_EQ(program->end(SIGKILL), 128 + SIGKILL);
  ASSERT_TRUE(shows("document.body.dataset.state === 'gone'"));
  EXPECT_EQ(browser->run("return document.querySelector('[data-answer=done]').disabled"), true);
  browser->console();  // that it is gone, by the browser
  auto again = slow_guide("second", "--resume");
  EXPECT_NE(again->page(), address);
  look_at(again->page());
  ASSERT_TRUE(shows(kEnded));
  EXPECT_EQ(again->wait(), 1);
}

}  // namespace
}  // namespace isthmus
