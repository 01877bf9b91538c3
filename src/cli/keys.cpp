// SPDX-License-Identifier: Apache-2.0
#include "cli/keys.hpp"

#include <poll.h>
#include <unistd.h>

#include "cli/terminal.hpp"

namespace isthmus::cli {

using session::Answer;

Keys::Keys() : terminal_(is_terminal(STDIN_FILENO)) {
  if (!terminal_ || tcgetattr(STDIN_FILENO, &before_) != 0) return;
  termios now = before_;
  now.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
  tcsetattr(STDIN_FILENO, TCSANOW, &now);
}

Keys::~Keys() {
  if (terminal_) tcsetattr(STDIN_FILENO, TCSANOW, &before_);
}

std::optional<Answer> Keys::of_key(char key) {
  using Kind = Answer::Kind;
  switch (key) {
    case '\n':
    case ' ':
    case 'd':
      return Answer{Kind::done, ""};
    case 'a':
      return Answer{Kind::again, ""};
    case 's':
      return Answer{Kind::skip, "skipped"};
    case 'c':
      return Answer{Kind::cannot_reach, ""};
    case 'u':
      return Answer{Kind::undo, ""};
    case 'p':
      paused_ = !paused_;
      return Answer{paused_ ? Kind::pause : Kind::resume, ""};
    case 'm':
      return Answer{Kind::mended, ""};
    case 'q':
      return Answer{Kind::quit, ""};
    default:
      return std::nullopt;
  }
}

std::optional<Answer> Keys::next() {
  pollfd p{STDIN_FILENO, POLLIN, 0};
  while (!over_ && poll(&p, 1, 0) > 0) {
    char c{};
    if (read(STDIN_FILENO, &c, 1) != 1) {
      over_ = true;
      break;
    }
    if (terminal_) {
      if (auto answer = of_key(c)) return answer;
      continue;
    }
    if (c != '\n') {
      typed_ += c;
      continue;
    }
    const std::string line = std::exchange(typed_, "");
    if (auto answer = session::parse_answer(line)) return answer;
  }
  return std::nullopt;
}

}  // namespace isthmus::cli
