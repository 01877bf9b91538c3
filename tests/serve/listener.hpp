// SPDX-License-Identifier: Apache-2.0
// A browser without a screen: hears the page's events by the library's client.
#pragma once

#include <httplib.h>

#include <atomic>
#include <chrono>
#include <mutex>
#include <string>
#include <thread>

namespace isthmus::test {

// "http://127.0.0.1:PORT/TOKEN/" in its parts.
struct Address {
  explicit Address(const std::string& url) {
    const auto slash = url.find('/', 7);
    host = url.substr(0, slash);
    base = url.substr(slash);
  }
  std::string host;  // "http://127.0.0.1:PORT"
  std::string base;  // "/TOKEN/"
};

class Listener {
 public:
  Listener(const Address& at, const std::string& name, const std::string& last = "")
      : client_(at.host) {
    httplib::Headers headers;
    if (!last.empty()) headers.emplace("Last-Event-ID", last);
    thread_ = std::thread([this, path = at.base + "events?browser=" + name, headers] {
      const auto got = client_.Get(path, headers, [this](const char* data, std::size_t size) {
        const std::lock_guard lock(mutex_);
        text_.append(data, size);
        return !closed_;
      });
      status_ = got ? got->status : -1;
    });
  }
  ~Listener() { close(); }
  Listener(const Listener&) = delete;
  Listener& operator=(const Listener&) = delete;

  void close() {
    closed_ = true;
    client_.stop();
    if (thread_.joinable()) thread_.join();
  }
  std::string text() {
    const std::lock_guard lock(mutex_);
    return text_;
  }
  // Waits until it has heard that; false after ten seconds.
  bool hears(const std::string& what) {
    for (int i = 0; i < 1000; ++i) {
      if (text().find(what) != std::string::npos) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    return false;
  }
  [[nodiscard]] int status() const { return status_; }

 private:
  httplib::Client client_;
  std::atomic<bool> closed_{false};
  std::atomic<int> status_{0};
  std::mutex mutex_;
  std::string text_;
  std::thread thread_;
};

}  // namespace isthmus::test
