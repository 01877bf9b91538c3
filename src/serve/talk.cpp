// SPDX-License-Identifier: Apache-2.0
#include "serve/talk.hpp"

#include <algorithm>

namespace isthmus::serve {
namespace {

constexpr std::size_t kMostListeners = 8;  // each holds a thread
constexpr std::size_t kMostAnswers = 64;
constexpr std::chrono::milliseconds kBeat{500};

}  // namespace

void Talk::tell(std::string line) {
  const std::lock_guard lock(mutex_);
  told_.push_back(std::move(line));
  changed_.notify_all();
}

std::optional<std::string> Talk::heard() {
  const std::lock_guard lock(mutex_);
  if (answers_.empty()) return std::nullopt;
  std::string line = std::move(answers_.front());
  answers_.pop_front();
  return line;
}

bool Talk::listens(const std::string& browser) const {
  return std::ranges::find(listeners_, browser, &Listener::browser) != listeners_.end();
}

// Who drives now.
void Talk::settle(Clock::time_point now) {
  if (listeners_.empty() || listens(driver_)) return;
  if (!driver_.empty() && now - driver_went_ < kKept) return;
  driver_ = listeners_.front().browser;
  changed_.notify_all();
}

bool Talk::comes(const std::string& browser) {
  const std::lock_guard lock(mutex_);
  if (ended_ || listeners_.size() >= kMostListeners) return false;
  listeners_.push_back({browser, 0});
  // With nobody else about, whoever comes need not wait for the one that went.
  if (listeners_.size() == 1 && driver_ != browser) driver_.clear();
  settle(Clock::now());
  return true;
}

void Talk::goes(const std::string& browser) {
  const std::lock_guard lock(mutex_);
  const auto it = std::ranges::find(listeners_, browser, &Listener::browser);
  if (it != listeners_.end()) listeners_.erase(it);
  if (browser == driver_ && !listens(browser)) driver_went_ = Clock::now();
  changed_.notify_all();
}

bool Talk::drives(const std::string& browser) {
  const std::lock_guard lock(mutex_);
  settle(Clock::now());
  return listens(browser) && browser == driver_;
}

std::size_t Talk::told() {
  const std::lock_guard lock(mutex_);
  return told_.size();
}

bool Talk::answer(const std::string& browser, std::string line) {
  const std::lock_guard lock(mutex_);
  settle(Clock::now());
  if (browser != driver_ || !listens(browser) || answers_.size() >= kMostAnswers) return false;
  answers_.push_back(std::move(line));
  return true;
}

Talk::News Talk::news(const std::string& browser, std::size_t after, bool drove) {
  std::unique_lock lock(mutex_);
  after = std::min(after, told_.size());
  const auto it = std::ranges::find(listeners_, browser, &Listener::browser);
  if (it != listeners_.end() && it->has < after) {
    it->has = after;
    changed_.notify_all();
  }
  changed_.wait_for(
      lock, kBeat, [&] { return told_.size() > after || ended_ || (browser == driver_) != drove; });
  settle(Clock::now());
  News news{after, {}, browser == driver_, ended_};
  news.lines.assign(told_.begin() + static_cast<std::ptrdiff_t>(after), told_.end());
  return news;
}

void Talk::end() {
  const std::lock_guard lock(mutex_);
  ended_ = true;
  changed_.notify_all();
}

void Talk::drain(std::chrono::milliseconds time) {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, time, [&] {
    return std::ranges::all_of(listeners_,
                               [&](const Listener& l) { return l.has >= told_.size(); });
  });
}

}  // namespace isthmus::serve
