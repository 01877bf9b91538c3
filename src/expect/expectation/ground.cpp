// SPDX-License-Identifier: Apache-2.0
#include "expect/expectation/ground.hpp"

#include <fmt/format.h>

namespace isthmus::expect {
namespace {

bool digit(char c) { return c >= '0' && c <= '9'; }

// The run of digits at `i` without leading zeros; moves `i` behind it.
std::string_view number_at(std::string_view text, std::size_t& i) {
  while (i < text.size() && text[i] == '0') ++i;
  const std::size_t from = i;
  while (i < text.size() && digit(text[i])) ++i;
  return text.substr(from, i - from);
}

}  // namespace

bool natural_less(std::string_view a, std::string_view b) {
  std::size_t i = 0;
  std::size_t j = 0;
  while (i < a.size() && j < b.size()) {
    if (digit(a[i]) && digit(b[j])) {
      const auto x = number_at(a, i);
      const auto y = number_at(b, j);
      if (x.size() != y.size()) return x.size() < y.size();
      if (x != y) return x < y;
    } else if (a[i] != b[j]) {
      return a[i] < b[j];
    } else {
      ++i;
      ++j;
    }
  }
  if (a.size() - i != b.size() - j) return a.size() - i < b.size() - j;
  return a < b;
}

std::string text_mm(std::int64_t nm) {
  const std::int64_t um = (nm < 0 ? nm - 500 : nm + 500) / 1000;
  const std::int64_t size = um < 0 ? -um : um;
  return fmt::format("{}{}.{:03}", um < 0 ? "-" : "", size / 1000, size % 1000);
}

std::string place_name(Position p) { return "@" + text_mm(p.x) + "," + text_mm(p.y); }

Problem problem(const formats::Design& design, const char* code, std::string message,
                std::string hint) {
  Problem p;
  p.file = design.board.path.string();
  p.code = code;
  p.message = std::move(message);
  p.hint = std::move(hint);
  return p;
}

Problem problem(const formats::Design& design, const formats::WaiveEntry& entry, const char* code,
                std::string message, std::string hint) {
  Problem p = problem(design, code, std::move(message), std::move(hint));
  p.line = entry.line;
  p.column = entry.column;
  return p;
}

}  // namespace isthmus::expect
