// SPDX-License-Identifier: Apache-2.0
#include "formats/import/words.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

// What is written as one word with others of these: common practice, no source. Words that make
// everyday words with a side ("backplane", "backboard", "frontpanel") are not among them.
constexpr std::array<std::string_view, 40> kParts{
    "top",   "bottom",  "bot",        "front",     "back",  "solder", "mask",     "paste",
    "silk",  "screen",  "silkscreen", "copper",    "layer", "side",   "overlay",  "outline",
    "drill", "drawing", "assembly",   "assy",      "inner", "mid",    "internal", "etch",
    "stop",  "resist",  "cream",      "component", "comp",  "smd",    "photo",    "legend",
    "plane", "board",   "edge",       "ground",    "power", "hole",   "holes",    "dimension"};

// Two parts that together are a word of their own.
bool everyday(std::string_view a, std::string_view b) {
  const bool side = a == "back" || a == "front" || a == "top" || a == "bottom";
  return side && (b == "plane" || b == "board" || b == "power" || b == "ground" || b == "edge");
}

// The fewest parts that make up the whole word; empty if they do not.
NameWords parts_of(std::string_view word) {
  constexpr std::uint32_t kNever = UINT32_MAX;
  struct Best {
    std::uint32_t count{kNever};
    std::size_t from{};
  };
  std::vector<Best> best(word.size() + 1);
  best[0].count = 0;
  for (std::size_t end = 1; end <= word.size(); ++end) {
    for (const std::string_view part : kParts) {
      if (part.size() > end || word.substr(end - part.size(), part.size()) != part) continue;
      const std::size_t from = end - part.size();
      if (best[from].count == kNever || best[from].count + 1 >= best[end].count) continue;
      best[end] = {best[from].count + 1, from};
    }
  }
  if (best.back().count == kNever) return {};
  NameWords out;
  for (std::size_t end = word.size(); end > 0; end = best[end].from) {
    out.insert(out.begin(), std::string(word.substr(best[end].from, end - best[end].from)));
  }
  for (std::size_t i = 0; i + 1 < out.size(); ++i) {
    if (everyday(out[i], out[i + 1])) return {};
  }
  return out;
}

void add_word(std::string_view word, NameWords& out) {
  const std::string low = lower(word);
  const std::size_t digits = low.find_first_of("0123456789");
  const std::string_view letters = std::string_view(low).substr(0, digits);
  const NameWords parts = parts_of(letters);
  if (parts.size() < 2) {
    out.push_back(low);
    return;
  }
  out.insert(out.end(), parts.begin(), parts.end());
  if (digits != std::string::npos) out.back() += low.substr(digits);
}

}  // namespace

NameWords name_words(std::string_view text) {
  NameWords out;
  std::string word;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    const bool letter = is_alpha(c), digit = is_digit(c);
    const bool after = i > 0 && !word.empty();
    const bool small_next = i + 1 < text.size() && is_alpha(text[i + 1]) && !is_upper(text[i + 1]);
    const bool hump = after && is_upper(c) && is_alpha(text[i - 1]) &&
                      (!is_upper(text[i - 1]) || (small_next && word.size() > 1));
    const bool digits_end = after && letter && is_digit(text[i - 1]);
    if ((!letter && !digit) || hump || digits_end) {
      if (!word.empty()) add_word(word, out);
      word.clear();
    }
    if (letter || digit) word += c;
  }
  if (!word.empty()) add_word(word, out);
  return out;
}

bool any_of(const NameWords& words, std::initializer_list<std::string_view> wanted) {
  return std::ranges::any_of(
      wanted, [&](std::string_view w) { return std::ranges::find(words, w) != words.end(); });
}

bool pair_of(const NameWords& words, std::initializer_list<std::string_view> first,
             std::initializer_list<std::string_view> second) {
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    const bool a = std::ranges::find(first, words[i]) != first.end();
    if (a && std::ranges::find(second, words[i + 1]) != second.end()) return true;
  }
  return false;
}

int number_after(std::string_view word, std::string_view start) {
  if (word.substr(0, start.size()) != start || word.size() > start.size() + 2) return 0;
  const auto n = to_int(word.substr(start.size()));
  return n && *n > 0 ? static_cast<int>(*n) : 0;
}

}  // namespace isthmus::formats
