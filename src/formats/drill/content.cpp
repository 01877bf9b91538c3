// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/content.hpp"

#include <algorithm>

#include "formats/drill/commands.hpp"
#include "formats/drill/words.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

bool has(const std::vector<DrillWord>& words, std::string_view letters) {
  return std::ranges::any_of(
      words, [&](const DrillWord& w) { return contains(letters, std::string_view(&w.letter, 1)); });
}

}  // namespace

bool is_drill_text(const std::vector<std::string_view>& lines) {
  bool unit = false, tool = false;
  std::size_t places = 0, others = 0;
  for (const std::string_view line : lines) {
    const std::size_t semicolon = line.find(';');
    if (semicolon != std::string_view::npos) {
      tool |= drill_comment(line.substr(semicolon + 1)).tool.has_value();
    }
    const std::string_view text = trim(line.substr(0, semicolon));
    if (text == "M48") return true;
    if (text.empty() || text == "%" || text[0] == '(') continue;
    if (unit_line(text)) {
      unit = true;
      continue;
    }
    const auto words = drill_words(text);
    if (!words || words->empty()) {
      others += is_machine_line(text) ? 0u : 1u;
      continue;
    }
    if (has(*words, "ZEDKPQ")) return false;  // a mill's or a printer's moves
    tool |= (*words)[0].letter == 'T' && has(*words, "C");
    places += has(*words, "XY") ? 1u : 0u;
  }
  return tool && (unit || (places > 0 && 20 * others <= places));
}

}  // namespace isthmus::formats
