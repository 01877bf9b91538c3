// SPDX-License-Identifier: Apache-2.0
// Whoever holds the needle: at the terminal, at the page, or simulated. All are told the same.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "cli/keys.hpp"
#include "cli/simulator.hpp"
#include "isthmus/expect/board.hpp"
#include "isthmus/serve/guide_page.hpp"
#include "isthmus/session/events.hpp"

namespace isthmus::cli {

class Person {
 public:
  // Says the safety notes, and where the page is. No simulator and no page: nullptr.
  Person(const expect::Board& board, Simulator* simulator, std::unique_ptr<serve::GuidePage> page,
         bool mute);

  void tell(const session::Event& event);
  // Somebody can answer: at the page, at a terminal, or a simulated hand.
  [[nodiscard]] bool is_there() const;
  std::optional<session::Answer> heard();

 private:
  std::optional<session::Answer> heard_at_page();

  const expect::Board& board_;
  Simulator* simulator_;
  std::unique_ptr<serve::GuidePage> page_;
  std::string address_;
  bool mute_;
  Keys keys_;
};

// Starts what the system opens addresses with, and does not wait for it.
void open_in_browser(const std::string& address);

}  // namespace isthmus::cli
