// SPDX-License-Identifier: Apache-2.0
// What was told and what was answered, between the program's thread and those of the server; and
// which browser drives.
#pragma once

#include <chrono>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace isthmus::serve {

// A browser's name is its own; it keeps it over a reload. The first that listens drives. Its place is
// kept for it a little while after it went, then the one that has listened longest takes it.
class Talk {
 public:
  using Clock = std::chrono::steady_clock;
  static constexpr std::chrono::milliseconds kKept{3000};

  void tell(std::string line);
  std::optional<std::string> heard();

  // False where too many listen already.
  bool comes(const std::string& browser);
  void goes(const std::string& browser);
  bool drives(const std::string& browser);
  std::size_t told();
  // False where this browser does not drive, or more is waiting than anybody can mean.
  bool answer(const std::string& browser, std::string line);

  struct News {
    std::size_t after{};             // number of the last line
    std::vector<std::string> lines;  // told since
    bool drives{};
    bool ended{};  // nothing more will be told
  };
  // Waits a moment for something new.
  News news(const std::string& browser, std::size_t after, bool drove);

  void end();
  // All that listen have all; or the time is over.
  void drain(std::chrono::milliseconds time);

 private:
  struct Listener {
    std::string browser;
    std::size_t has{};
  };
  void settle(Clock::time_point now);
  [[nodiscard]] bool listens(const std::string& browser) const;

  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::string> told_;
  std::deque<std::string> answers_;
  std::vector<Listener> listeners_;  // by when they came
  std::string driver_;
  Clock::time_point driver_went_{};
  bool ended_{false};
};

}  // namespace isthmus::serve
