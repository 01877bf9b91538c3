// SPDX-License-Identifier: Apache-2.0
// Keys of the guide, without waiting: single keys on a terminal, else words, a line each.
#pragma once

#include <termios.h>

#include <optional>
#include <string>

#include "isthmus/session/events.hpp"

namespace isthmus::cli {

class Keys {
 public:
  Keys();
  ~Keys();  // the terminal as it was
  Keys(const Keys&) = delete;
  Keys& operator=(const Keys&) = delete;

  std::optional<session::Answer> next();

 private:
  std::optional<session::Answer> of_key(char key);

  bool terminal_{}, over_{}, paused_{};
  termios before_{};
  std::string typed_;
};

}  // namespace isthmus::cli
