// SPDX-License-Identifier: Apache-2.0
#include "tests/serve/browser.hpp"

#include <fcntl.h>
#include <httplib.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>
#include <stdexcept>
#include <thread>

namespace isthmus::test {
namespace {

using Json = nlohmann::json;

bool on_path(const std::string& program) {
  std::stringstream path(std::getenv("PATH") ? std::getenv("PATH") : "");
  for (std::string dir; std::getline(path, dir, ':');) {
    if (::access((dir + "/" + program).c_str(), X_OK) == 0) return true;
  }
  return false;
}

void nap(int ms) { std::this_thread::sleep_for(std::chrono::milliseconds(ms)); }

// The driver says its port in its first lines.
int port_in(const std::string& file) {
  for (int i = 0; i < 3000; ++i, nap(10)) {
    std::ifstream in(file);
    std::stringstream text;
    text << in.rdbuf();
    std::smatch found;
    const std::string all = text.str();
    if (std::regex_search(all, found, std::regex("started successfully on port ([0-9]+)")))
      return std::stoi(found[1]);
  }
  throw std::runtime_error("chromedriver does not start");
}

std::string decoded(const std::string& base64) {
  std::string bytes;
  unsigned bits = 0, have = 0;
  for (const char c : base64) {
    const std::string kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const auto at = kDigits.find(c);
    if (at == std::string::npos) continue;
    bits = (bits << 6U | static_cast<unsigned>(at)) & 0xffffffU;
    have += 6;
    if (have >= 8) bytes += static_cast<char>(bits >> (have -= 8) & 0xffU);
  }
  return bytes;
}

}  // namespace

bool Browser::is_here() { return on_path("chromium") && on_path("chromedriver"); }

Browser::Browser() {
  std::string name = (std::filesystem::temp_directory_path() / "isthmus-driver-XXXXXX").string();
  const int out = mkstemp(name.data());
  log_file_ = name;
  pid_ = fork();
  if (pid_ == 0) {
    setpgid(0, 0);  // its browsers go with it
    dup2(out, 1);
    dup2(out, 2);
    execlp("chromedriver", "chromedriver", "--port=0", nullptr);
    _exit(127);
  }
  ::close(out);
  port_ = port_in(log_file_);
  begin();
}

void Browser::begin() {
  const Json wanted = {
      {"goog:loggingPrefs", {{"browser", "ALL"}, {"performance", "ALL"}}},
      {"goog:chromeOptions",
       {{"args",
         {"--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
          "--no-first-run", "--disable-background-networking", "--window-size=1600,900"}}}}};
  const Json got = ask("POST", "/session", {{"capabilities", {{"alwaysMatch", wanted}}}});
  session_ = "/session/" + got.at("sessionId").get<std::string>();
}

Browser::~Browser() {
  try {
    ask("DELETE", session_, {});
  } catch (const std::exception&) {  // it goes all the same
  }
  ::kill(-pid_, SIGTERM);
  for (int i = 0; i < 300 && waitpid(pid_, nullptr, WNOHANG) == 0; ++i) nap(10);
  ::kill(-pid_, SIGKILL);
  waitpid(pid_, nullptr, WNOHANG);
  std::error_code ignored;
  std::filesystem::remove(log_file_, ignored);
}

Json Browser::ask(const std::string& method, const std::string& path, const Json& body) {
  httplib::Client client("127.0.0.1", port_);
  client.set_read_timeout(60);
  const std::string text = body.is_null() ? "{}" : body.dump();
  const auto got = method == "DELETE" ? client.Delete(path)
                   : method == "GET"  ? client.Get(path)
                                      : client.Post(path, text, "application/json");
  if (!got) throw std::runtime_error("chromedriver does not answer: " + path);
  Json value = Json::parse(got->body).at("value");
  if (got->status != 200) throw std::runtime_error(path + ": " + value.dump().substr(0, 400));
  return value;
}

void Browser::go(const std::string& url) { ask("POST", session_ + "/url", {{"url", url}}); }

Json Browser::run(const std::string& script) {
  return ask("POST", session_ + "/execute/sync", {{"script", script}, {"args", Json::array()}});
}

bool Browser::becomes(const std::string& expression, double seconds) {
  for (int i = 0; i < static_cast<int>(seconds * 20); ++i, nap(50)) {
    const Json got = run("return !!(" + expression + ")");
    if (got.get<bool>()) return true;
  }
  return false;
}

std::string Browser::text(const std::string& selector) {
  return run("return document.querySelector(" + Json(selector).dump() + ").innerText");
}

void Browser::click(const std::string& selector) {
  run("document.querySelector(" + Json(selector).dump() + ").click()");
}

void Browser::key(const std::string& key) {
  const Json down{{"type", "keyDown"}, {"value", key}}, up{{"type", "keyUp"}, {"value", key}};
  ask("POST", session_ + "/actions",
      {{"actions", {{{"type", "key"}, {"id", "keys"}, {"actions", {down, up}}}}}});
}

std::string Browser::new_window() {
  const Json made = ask("POST", session_ + "/window/new", {{"type", "window"}});
  return made.at("handle");
}
std::string Browser::window() { return ask("GET", session_ + "/window", {}); }
void Browser::enter(const std::string& window) {
  ask("POST", session_ + "/window", {{"handle", window}});
}
void Browser::close_window() { ask("DELETE", session_ + "/window", {}); }

void Browser::size(int width, int height) {
  ask("POST", session_ + "/goog/cdp/execute",
      {{"cmd", "Emulation.setDeviceMetricsOverride"},
       {"params",
        {{"width", width}, {"height", height}, {"deviceScaleFactor", 1}, {"mobile", false}}}});
}

void Browser::screenshot(const std::string& file) {
  const Json got = ask("GET", session_ + "/screenshot", {});
  std::ofstream(file, std::ios::binary) << decoded(got.get<std::string>());
}

void Browser::print(const std::string& file) {
  const Json got = ask("POST", session_ + "/goog/cdp/execute",
                       {{"cmd", "Page.printToPDF"},
                        {"params", {{"printBackground", true}, {"preferCSSPageSize", true}}}});
  std::ofstream(file, std::ios::binary) << decoded(got.at("data").get<std::string>());
}

void Browser::act(const Json& sources) {
  ask("POST", session_ + "/actions", {{"actions", sources}});
}

void Browser::prefer(const std::string& colours) {
  const Json feature{{"name", "prefers-color-scheme"}, {"value", colours}};
  ask("POST", session_ + "/goog/cdp/execute",
      {{"cmd", "Emulation.setEmulatedMedia"}, {"params", {{"features", Json::array({feature})}}}});
}

Json Browser::log(const std::string& type) {
  return ask("POST", session_ + "/se/log", {{"type", type}});
}

std::vector<std::string> Browser::console() {
  std::vector<std::string> lines;
  for (const Json& e : log("browser")) lines.push_back(e.at("message"));
  return lines;
}

std::vector<std::string> Browser::requests() {
  std::vector<std::string> urls;
  for (const Json& e : log("performance")) {
    const Json m = Json::parse(e.at("message").get<std::string>()).at("message");
    if (m.at("method") == "Network.requestWillBeSent")
      urls.push_back(m.at("params").at("request").at("url"));
  }
  return urls;
}

}  // namespace isthmus::test
