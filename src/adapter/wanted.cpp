// SPDX-License-Identifier: Apache-2.0
#include "adapter/wanted.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <utility>

#include "adapter/reply.hpp"

namespace isthmus::adapter {
namespace {

constexpr double kOver = 9.9e37, kNone = 9.91e37;

bool digits(std::string_view s) {
  for (const char c : s) {
    if (c < '0' || c > '9') return false;
  }
  return !s.empty();
}

bool sign(char c) { return c == '+' || c == '-'; }

// +1.234567E+00: sign, one digit, point, six digits, E, sign, two digits.
bool exact_nr3(std::string_view s) {
  return s.size() == 13 && sign(s[0]) && digits(s.substr(1, 1)) && s[2] == '.' &&
         digits(s.substr(3, 6)) && s[9] == 'E' && sign(s[10]) && digits(s.substr(11));
}

// A whole number without a needless sign or zero.
bool nr1(std::string_view s) {
  return digits(s) && s.size() <= 10 && (s.size() == 1 || s[0] != '0');
}

std::string_view take(std::string_view& text, std::size_t size) {
  const std::string_view out = text.substr(0, size);
  text.remove_prefix(std::min(text.size(), size == std::string_view::npos ? size : size + 1));
  return out;
}

struct Fields {
  std::string_view tag, list, value, status, check;
};

// Cut at the commas outside the list.
std::optional<Fields> fields_of(std::string_view text) {
  Fields f;
  f.tag = take(text, text.find(','));
  const auto close = text.find(')');
  if (close == std::string_view::npos) return std::nullopt;
  f.list = take(text, close + 1);
  f.value = take(text, text.find(','));
  f.status = take(text, text.find(','));
  f.check = text;
  return f;
}

bool value_as(std::string_view wanted, double value) {
  const bool number = value < kOver;
  if (wanted == "any") return true;
  if (wanted == "none") return value == kNone;
  if (wanted == "over") return value == kOver;
  if (wanted == "number") return number;
  if (wanted == "flag") return value == 0 || value == 1;
  if (wanted == "volts") return std::fabs(value) <= 0.1;
  const auto ohms = parse_number(wanted);
  return ohms && std::fabs(value - *ohms) <= 0.05 * *ohms + 1;
}

bool reading_as(std::string_view wanted, std::string_view got) {
  const auto want = fields_of(wanted);
  const auto reading = plain_reading(got);
  if (!want || !reading) return false;
  return reading->tag == want->tag && reading->list == want->list &&
         value_as(want->value, reading->value) &&
         (want->status == "any" || want->status == std::to_string(reading->status));
}

bool answer_as(std::string_view wanted, std::string_view got) {
  if (wanted == "*") return !got.empty();
  if (wanted.starts_with('=')) return reading_as(wanted.substr(1), got);
  if (wanted.starts_with('!')) {
    const auto number = plain_error(got);
    return number && parse_integer(wanted.substr(1)) == *number;
  }
  if (wanted.starts_with('~')) {
    const auto want = parse_number(wanted.substr(1));
    return exact_nr3(got) && std::fabs(*parse_number(got) - *want) <= 0.03 * *want;
  }
  return wanted == got;
}

constexpr std::array<std::pair<int, std::string_view>, 12> kWords{{{0, "No error"},
                                                                   {-102, "Syntax error"},
                                                                   {-104, "Data type error"},
                                                                   {-108, "Parameter not allowed"},
                                                                   {-109, "Missing parameter"},
                                                                   {-113, "Undefined header"},
                                                                   {-221, "Settings conflict"},
                                                                   {-222, "Data out of range"},
                                                                   {-223, "Too much data"},
                                                                   {-240, "Hardware error"},
                                                                   {-330, "Self-test failed"},
                                                                   {-350, "Queue overflow"}}};

}  // namespace

std::vector<std::string> answers_of(std::string_view response) {
  std::vector<std::string> out(1);
  bool quoted = false;
  for (const char c : response) {
    if (c == '"') quoted = !quoted;
    if (c == ';' && !quoted)
      out.emplace_back();
    else
      out.back() += c;
  }
  return out;
}

std::optional<PlainReading> plain_reading(std::string_view answer) {
  const auto f = fields_of(answer);
  if (!f || !nr1(f->tag) || !exact_nr3(f->value) || !nr1(f->status)) return std::nullopt;
  const auto status = parse_integer(f->status);
  if (!status || *status > 63 || f->check.size() != 6) return std::nullopt;
  if (f->check != fmt::format("#H{:04X}", crc16(answer.substr(0, answer.size() - 6)))) {
    return std::nullopt;
  }
  return PlainReading{std::string(f->tag), std::string(f->list), *parse_number(f->value),
                      static_cast<int>(*status)};
}

std::optional<double> value_in(std::string_view answer) {
  const auto f = fields_of(answer);
  return f ? parse_number(f->value) : std::nullopt;
}

std::optional<int> plain_error(std::string_view answer) {
  const auto comma = answer.find(',');
  if (comma == std::string_view::npos) return std::nullopt;
  const auto number = parse_integer(answer.substr(0, comma));
  const std::string_view text = answer.substr(comma + 1);
  if (!number || text.size() < 2 || text.front() != '"' || text.back() != '"') return std::nullopt;
  for (const auto& [known, words] : kWords) {
    const std::string_view rest = text.substr(1 + std::min(text.size() - 1, words.size()));
    if (known == *number &&
        (!text.substr(1).starts_with(words) || (!rest.starts_with('"') && !rest.starts_with(';'))))
      return std::nullopt;
  }
  return static_cast<int>(*number);
}

bool as_wanted(std::string_view wanted, std::string_view response) {
  const auto want = answers_of(wanted);
  const auto got = answers_of(response);
  if (want.size() != got.size()) return false;
  for (std::size_t i = 0; i < want.size(); ++i) {
    if (!answer_as(want[i], got[i])) return false;
  }
  return true;
}

}  // namespace isthmus::adapter
