// SPDX-License-Identifier: Apache-2.0
// A real browser without a screen: Chromium, driven by its driver's HTTP (W3C WebDriver).
#pragma once

#include <sys/types.h>

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace isthmus::test {

class Browser {
 public:
  // False where Chromium or its driver is not installed.
  static bool is_here();

  Browser();
  ~Browser();
  Browser(const Browser&) = delete;
  Browser& operator=(const Browser&) = delete;

  void go(const std::string& url);
  // The body of a function; what it returns.
  nlohmann::json run(const std::string& script);
  // Until it returns something true; false after so many seconds.
  bool becomes(const std::string& expression, double seconds = 20);
  std::string text(const std::string& selector);
  void click(const std::string& selector);
  void key(const std::string& key);
  // Another window, a browser of its own to the page; and back.
  std::string new_window();
  [[nodiscard]] std::string window();
  void enter(const std::string& window);
  void close_window();
  void size(int width, int height);
  void screenshot(const std::string& file);
  // As PDF, on Letter paper at 100 %, with the margins that the page asks for.
  void print(const std::string& file);
  // Mouse, wheel and fingers: sources of actions as in WebDriver 17.4.
  void act(const nlohmann::json& sources);
  // What the system is set to: "light" or "dark".
  void prefer(const std::string& colours);
  // Said since the last call by the page and by the browser about it.
  std::vector<std::string> console();
  // Asked for since the last call.
  std::vector<std::string> requests();

 private:
  nlohmann::json ask(const std::string& method, const std::string& path,
                     const nlohmann::json& body);
  nlohmann::json log(const std::string& type);
  void begin();
  pid_t pid_{-1};
  int port_{};
  std::string log_file_, session_;
};

}  // namespace isthmus::test

#define ISTHMUS_NEEDS_BROWSER()           \
  if (!isthmus::test::Browser::is_here()) \
  GTEST_SKIP() << "no chromium and chromedriver: apt-get install chromium chromium-driver"
