// SPDX-License-Identifier: Apache-2.0
#include "cli/person.hpp"

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>

#include "cli/guide_json.hpp"
#include "cli/guide_words.hpp"
#include "cli/terminal.hpp"

namespace isthmus::cli {

Person::Person(const expect::Board& board, Simulator* simulator,
               std::unique_ptr<serve::GuidePage> page, bool mute)
    : board_(board),
      simulator_(simulator),
      page_(std::move(page)),
      address_(page_ ? page_->address() : ""),
      mute_(mute || !is_terminal(STDERR_FILENO)) {
  std::fputs(kSafety, stderr);
  std::fputs(kKeys, stderr);
  if (page_) std::fprintf(stderr, "Page: %s\n", address_.c_str());
  std::fflush(stderr);
}

void Person::tell(const session::Event& event) {
  const std::string line = event_json(board_, event, address_);
  if (page_) page_->tell(line);
  if (simulator_) simulator_->tell(line);
  const std::string text = in_words(board_, event);
  std::fputs(text.c_str(), stderr);
  for (int i = mute_ ? 0 : bells(event); i > 0; --i) std::fputc('\a', stderr);
  std::fflush(stderr);
}

bool Person::is_there() const { return page_ || simulator_ || is_terminal(STDIN_FILENO); }

std::optional<session::Answer> Person::heard_at_page() {
  while (page_) {
    const auto line = page_->heard();
    if (!line) break;
    if (*line == "mute") {
      mute_ = true;
    } else if (*line == "unmute") {
      mute_ = !is_terminal(STDERR_FILENO);
    } else if (auto answer = session::parse_answer(*line)) {
      return answer;
    }
  }
  return std::nullopt;
}

std::optional<session::Answer> Person::heard() {
  if (auto answer = heard_at_page()) return answer;
  if (!simulator_) return keys_.next();
  while (const auto line = simulator_->heard()) {
    if (!line->starts_with("answer ")) continue;
    if (auto answer = session::parse_answer(line->substr(7))) return answer;
  }
  return std::nullopt;
}

void open_in_browser(const std::string& address) {
  const pid_t child = fork();
  if (child == 0) {
    if (fork() != 0) _exit(0);  // nobody's child: nobody need wait for it
    const int nowhere = open("/dev/null", O_RDWR | O_CLOEXEC);
    for (int fd = 0; fd < 3; ++fd) dup2(nowhere, fd);
    setsid();
    execlp("xdg-open", "xdg-open", address.c_str(), nullptr);
    _exit(127);
  }
  if (child > 0) waitpid(child, nullptr, 0);
}

}  // namespace isthmus::cli
