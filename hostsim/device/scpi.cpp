// SPDX-License-Identifier: Apache-2.0
#include "hostsim/device/scpi.hpp"

#include <charconv>
#include <cstdlib>
#include <optional>

namespace isthmus::hostsim {
namespace {

bool is_blank(char c) { return c == ' ' || c == '\t'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }
bool is_word(char c) { return is_letter(c) || is_digit(c) || c == '_'; }
char upper(char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }

struct SyntaxFault {
  std::string detail;
};

// Reads one unit from left to right; throws SyntaxFault inside this file only.
class UnitReader {
 public:
  explicit UnitReader(std::string_view text) : text_(text) {}

  Unit read() {
    Unit unit;
    try {
      read_header(unit);
      read_arguments(unit);
    } catch (const SyntaxFault& fault) {
      unit.error = -102;
      unit.detail = fault.detail;
      unit.arguments.clear();
    }
    return unit;
  }

 private:
  [[nodiscard]] bool at_end() const { return at_ == text_.size(); }
  [[nodiscard]] char peek() const { return at_end() ? '\0' : text_[at_]; }
  void skip_blanks() {
    while (!at_end() && is_blank(peek())) ++at_;
  }
  bool take(char c) {
    if (at_end() || peek() != c) return false;
    ++at_;
    return true;
  }
  void expect(char c) {
    if (!take(c)) fail(std::string("expected ") + c);
  }
  [[noreturn]] void fail(const std::string& why) const {
    throw SyntaxFault{why + " at character " + std::to_string(at_ + 1)};
  }

  std::string word() {
    const std::size_t start = at_;
    if (!is_letter(peek())) fail("expected a keyword");
    while (!at_end() && is_word(peek())) ++at_;
    return std::string(text_.substr(start, at_ - start));
  }

  void read_header(Unit& unit) {
    skip_blanks();
    if (take('*')) {
      unit.common = true;
      unit.keywords.push_back(word());
    } else {
      unit.rooted = take(':');
      do {
        unit.keywords.push_back(word());
      } while (take(':'));
    }
    unit.query = take('?');
    if (!at_end() && !is_blank(peek())) fail("unexpected character");
  }

  void read_arguments(Unit& unit) {
    skip_blanks();
    if (at_end()) return;
    do {
      skip_blanks();
      unit.arguments.push_back(argument());
      skip_blanks();
    } while (take(','));
    if (!at_end()) fail("unexpected character");
  }

  Argument argument() {
    if (peek() == '(') return list();
    if (peek() == '"') return string();
    Argument a;
    a.number = number();
    return a;
  }

  Argument string() {
    Argument a;
    a.kind = ArgumentKind::string;
    expect('"');
    while (true) {
      if (at_end()) fail("a string without its end");
      if (take('"')) {
        if (!take('"')) return a;  // a doubled quote is one quote
        a.text += '"';
      } else {
        a.text += text_[at_++];
      }
    }
  }

  double number() {
    const std::size_t start = at_;
    if (peek() == '+' || peek() == '-') ++at_;
    const std::size_t digits = at_;
    std::size_t count = skip_digits();
    if (take('.')) count += skip_digits();
    if (count == 0) {
      at_ = digits;
      fail("expected a number, list or string");
    }
    if (peek() == 'E' || peek() == 'e') {
      ++at_;
      if (peek() == '+' || peek() == '-') ++at_;
      if (skip_digits() == 0) fail("an exponent without digits");
    }
    const std::size_t first = text_[start] == '+' ? start + 1 : start;
    double value = 0;
    const auto end = text_.data() + at_;
    const auto [ptr, code] = std::from_chars(text_.data() + first, end, value);
    if (code == std::errc::result_out_of_range) {  // infinite or 0, with its sign
      return std::strtod(std::string(text_.substr(first, at_ - first)).c_str(), nullptr);
    }
    if (code != std::errc{} || ptr != end) fail("not a number");
    return value;
  }

  std::size_t skip_digits() {
    const std::size_t start = at_;
    while (!at_end() && is_digit(peek())) ++at_;
    return at_ - start;
  }

  std::int64_t index() {
    skip_blanks();
    const std::size_t start = at_;
    if (skip_digits() == 0) fail("expected a row or channel number");
    if (at_ - start > 9) fail("too many digits");
    std::int64_t value = 0;
    for (std::size_t i = start; i < at_; ++i) value = value * 10 + (text_[i] - '0');
    skip_blanks();
    return value;
  }

  Argument list() {
    Argument a;
    a.kind = ArgumentKind::list;
    expect('(');
    expect('@');
    do {
      ListEntry e;
      e.row_from = index();
      expect('!');
      e.channel_from = index();
      e.row_to = e.row_from;
      e.channel_to = e.channel_from;
      if (take(':')) {
        e.row_to = index();
        expect('!');
        e.channel_to = index();
      }
      a.list.push_back(e);
    } while (take(','));
    expect(')');
    return a;
  }

  std::string_view text_;
  std::size_t at_{0};
};

bool all_blank(std::string_view text) {
  for (const char c : text) {
    if (!is_blank(c)) return false;
  }
  return true;
}

}  // namespace

std::vector<Unit> parse_message(std::string_view message) {
  std::vector<Unit> units;
  if (all_blank(message)) return units;
  bool quoted = false;
  std::size_t start = 0;
  for (std::size_t i = 0; i <= message.size(); ++i) {
    if (i < message.size() && message[i] == '"') quoted = !quoted;
    if (i == message.size() || (message[i] == ';' && !quoted)) {
      units.push_back(UnitReader(message.substr(start, i - start)).read());
      start = i + 1;
    }
  }
  return units;
}

bool matches_keyword(std::string_view keyword, std::string_view word) {
  std::size_t short_length = 0;
  while (short_length < keyword.size() &&
         !(keyword[short_length] >= 'a' && keyword[short_length] <= 'z')) {
    ++short_length;
  }
  if (word.size() != short_length && word.size() != keyword.size()) return false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    if (upper(word[i]) != upper(keyword[i])) return false;
  }
  return true;
}

}  // namespace isthmus::hostsim
