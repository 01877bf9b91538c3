// SPDX-License-Identifier: Apache-2.0
// The commands of a drill file beside holes, slots and moves. Source: Excellon CNC-7 manual, list
// of commands; the words in brackets from memory of it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "formats/drill/words.hpp"

namespace isthmus::formats {

struct DrillBlock {
  std::optional<DrillWord> x, y, i, j, a, slot_x, slot_y, tool, diameter, repeat;
  std::vector<DrillWord> g, m;
  bool slot{false};
};

struct DrillRefusal {
  int column{};
  const char* code{};
  std::string message, hint;
};

// Nothing, or why the line is not read.
std::optional<DrillRefusal> take_apart(const std::vector<DrillWord>& words, DrillBlock& to);

// The M word whose own argument the block's place is, as in M02X5.0Y0 or M30X0Y0; nullptr: none.
const DrillWord* command_of_place(const DrillBlock& block);

// A line that concerns the machine, not the holes: "ATC,ON", "1/2/3" (linked tools).
bool is_machine_line(std::string_view line);

// "M97,text": a command with text after a comma that cannot be read; its refusal.
std::optional<DrillRefusal> refused_text_line(std::string_view line);

}  // namespace isthmus::formats
