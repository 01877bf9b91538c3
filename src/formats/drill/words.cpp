// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/words.hpp"

#include <algorithm>
#include <cmath>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

// "000.000" -> 3, 3.
std::optional<std::pair<int, int>> zeros_pattern(std::string_view s) {
  const std::size_t dot = s.find('.');
  if (dot == std::string_view::npos || s.size() > 12) return std::nullopt;
  if (s.find_first_not_of("0.") != std::string_view::npos || s.rfind('.') != dot)
    return std::nullopt;
  return std::pair{static_cast<int>(dot), static_cast<int>(s.size() - dot - 1)};
}

// "2:5" or "2.4" at the start of `s`.
std::optional<std::pair<int, int>> digit_pair(std::string_view s, char between) {
  s = trim(s);
  if (s.size() < 3 || !is_digit(s[0]) || s[1] != between || !is_digit(s[2])) return std::nullopt;
  if (s.size() > 3 && is_digit(s[3])) return std::nullopt;
  return std::pair{s[0] - '0', s[2] - '0'};
}

std::string_view after(std::string_view text, std::string_view mark) {
  const std::size_t at = text.find(mark);
  return at == std::string_view::npos ? std::string_view{} : text.substr(at + mark.size());
}

std::optional<bool> plating_word(std::string_view s) {
  const std::string word = lower(trim(s));
  if (word == "plated" || word == "pth") return true;
  if (word == "nonplated" || word == "non_plated" || word == "non-plated" || word == "unplated" ||
      word == "npth") {
    return false;
  }
  return std::nullopt;
}

void file_function(std::string_view fields, DrillComment& to) {
  while (!fields.empty() && (fields.back() == '*' || fields.back() == '%')) fields.remove_suffix(1);
  const std::vector<std::string_view> field = split(fields, ',');
  to.file_plated = plating_word(field[0]);
  if (field.size() < 3) return;
  const auto from = to_int(trim(field[1])), last = to_int(trim(field[2]));
  if (from && last && *from >= 1 && *from < *last && *last <= 99) {
    to.span = {static_cast<int>(*from), static_cast<int>(*last)};
  }
}

// "Holesize 1. = 31.5 Tolerance = ... PLATED MILS ...", a tool table some writers put into comments
// (common practice, from memory).
std::optional<DrillComment::Tool> hole_size(std::string_view text) {
  const std::vector<std::string_view> word = words(text);
  if (word.size() < 4 || lower(word[0]) != "holesize" || word[2] != "=") return std::nullopt;
  std::string_view number = word[1];
  if (!number.empty() && number.back() == '.') number.remove_suffix(1);
  const auto tool = to_int(number);
  const auto size = to_double(word[3]);
  if (!tool || *tool < 0 || *tool > 9999 || !size) return std::nullopt;
  double unit_nm = 0;
  DrillComment::Tool to{static_cast<int>(*tool), {}, std::nullopt, std::nullopt};
  if (word[word.size() - 2] == "=" && lower(word[word.size() - 3]) == "quantity") {
    to.holes = to_int(word.back());
  }
  for (std::string_view w : word) {
    const std::string low = lower(w);
    if (low == "mils" || low == "mil") unit_nm = 25400;
    if (low == "mm" || low == "millimeters") unit_nm = 1e6;
    if (low == "inches" || low == "inch") unit_nm = 25.4e6;
    if (const auto plated = plating_word(w)) to.plated = plated;
  }
  if (unit_nm == 0 || !(*size * unit_nm < 1e9)) return std::nullopt;
  to.diameter = Nanometres{std::llround(*size * unit_nm)};
  return to;
}

// "NON-PLATED HOLES START AT T1", "THROUGH (PLATED) HOLES START AT T100" (common practice).
std::optional<std::pair<int, bool>> plated_from(std::string_view text) {
  constexpr std::string_view kMark = "HOLES START AT T";
  const std::size_t at = text.find(kMark);
  if (at == std::string_view::npos) return std::nullopt;
  const auto tool = to_int(trim(text.substr(at + kMark.size())));
  if (!tool || *tool < 0 || *tool > 9999) return std::nullopt;
  const bool bare = contains(text, "NON-PLATED") || contains(text, "UNPLATED");
  return std::pair{static_cast<int>(*tool), !bare};
}

struct NumberStatistics {
  bool leading_zero{false};
  std::size_t shortest{SIZE_MAX}, longest{0};
};

void count_number(std::string_view number, NumberStatistics& statistics, bool& undotted) {
  if (contains(number, ".")) return;
  std::string_view digits = number;
  if (!digits.empty() && (digits[0] == '+' || digits[0] == '-')) digits.remove_prefix(1);
  if (digits.find_first_not_of('0') == std::string_view::npos) return;
  undotted = true;
  statistics.leading_zero |= digits[0] == '0';
  statistics.shortest = std::min(statistics.shortest, digits.size());
  statistics.longest = std::max(statistics.longest, digits.size());
}

std::vector<NumberFormat> candidates_for(bool metric, std::optional<bool> trailing_kept,
                                         std::optional<std::pair<int, int>> digits,
                                         const NumberStatistics& seen) {
  std::vector<bool> modes;
  if (trailing_kept) {
    modes = {*trailing_kept};
  } else {
    modes = {!seen.leading_zero, seen.leading_zero};
  }
  std::vector<NumberFormat> out;
  for (const bool mode : modes) {
    if (digits) {
      out.push_back({digits->first, digits->second, mode});
      continue;
    }
    // Implied: inch 2.4, metric 3.3 (Excellon CNC-7 manual); the others as seen.
    const int whole = metric ? 3 : 2, decimals = metric ? 3 : 4;
    for (const int off : {0, -1, 1, -2, 2}) {
      const int d = decimals + off, w = whole - off;
      if (mode ? d < 1 : w < 1) continue;
      out.push_back(mode ? NumberFormat{whole, d, true} : NumberFormat{w, decimals, false});
    }
  }
  return out;
}

}  // namespace

std::optional<std::vector<DrillWord>> drill_words(std::string_view line) {
  std::vector<DrillWord> out;
  for (std::size_t i = 0; i < line.size();) {
    if (is_blank(line[i])) {
      ++i;
      continue;
    }
    if (!is_upper(line[i])) return std::nullopt;
    std::size_t end = i + 1;
    while (end < line.size() && (is_digit(line[end]) || contains("+-.", line.substr(end, 1))))
      ++end;
    if (end == i + 1) return std::nullopt;
    out.push_back({line[i], line.substr(i + 1, end - i - 1), static_cast<int>(i) + 1});
    i = end;
  }
  return out;
}

std::optional<UnitLine> unit_line(std::string_view line) {
  const std::vector<std::string_view> field = split(line, ',');
  const std::string_view head = trim(field[0]);
  UnitLine out;
  out.metric = head == "METRIC" || head == "M71";
  if (!out.metric && head != "INCH" && head != "M72") return std::nullopt;
  for (std::string_view f : field) {
    f = trim(f);
    if (f == "LZ") out.trailing_kept = false;
    if (f == "TZ") out.trailing_kept = true;
    if (const auto digits = zeros_pattern(f)) out.digits = digits;
  }
  return out;
}

DrillComment drill_comment(std::string_view text) {
  DrillComment out;
  text = trim(text);
  std::string_view attribute = text;
  if (text.substr(0, 3) == "#@!") attribute = trim(text.substr(3));
  if (attribute.substr(0, 3) == "TF." || attribute.substr(0, 3) == "TA.")
    attribute.remove_prefix(3);
  if (attribute.substr(0, 13) == "FileFunction,") file_function(attribute.substr(13), out);
  if (attribute.substr(0, 13) == "AperFunction,") {
    out.tool_plated = plating_word(split(attribute.substr(13), ',')[0]);
  }
  if (text.substr(0, 5) == "TYPE=") out.type_plated = plating_word(text.substr(5));
  if (text.substr(0, 12) == "FILE_FORMAT=") out.digits = digit_pair(text.substr(12), ':');
  if (text.substr(0, 8) == "FORMAT={") {
    out.digits = digit_pair(text.substr(8), ':');
    if (contains(text, "suppress leading")) out.trailing_kept = true;
    if (contains(text, "suppress trailing")) out.trailing_kept = false;
  }
  if (lower(text.substr(0, 6)) == "format" && contains(text, ":")) {
    if (const auto digits = digit_pair(after(text, ":"), '.')) out.digits = digits;
  }
  if (lower(text.substr(0, 8)) == "contents") {
    out.file_plated = plating_word(text.substr(text.rfind('/') + 1));
  }
  out.tool = hole_size(text);
  out.plated_from = plated_from(text);
  return out;
}

DeclaredFormat declared_format(const std::vector<std::string_view>& lines,
                               std::optional<bool> metric) {
  DeclaredFormat out;
  std::optional<bool> trailing_kept;
  std::optional<std::pair<int, int>> digits;
  NumberStatistics seen;
  for (const std::string_view whole : lines) {
    const std::size_t semicolon = whole.find(';');
    if (semicolon != std::string_view::npos) {
      const DrillComment comment = drill_comment(whole.substr(semicolon + 1));
      if (comment.digits) digits = comment.digits;
      if (comment.trailing_kept) trailing_kept = comment.trailing_kept;
    }
    const std::string_view line = trim(whole.substr(0, semicolon));
    if (const auto unit = unit_line(line)) {
      if (!out.metric) out.metric = unit->metric;
      if (unit->trailing_kept) trailing_kept = unit->trailing_kept;
      if (unit->digits) digits = unit->digits;
      continue;
    }
    const auto word = drill_words(line);
    if (!word) continue;
    for (const DrillWord& w : *word) {
      if (w.letter == 'G' && w.number == "70" && !out.metric) out.metric = false;
      if (w.letter == 'G' && w.number == "71" && !out.metric) out.metric = true;
      if (contains("XYIJA", std::string_view(&w.letter, 1)))
        count_number(w.number, seen, out.undotted);
    }
  }
  if (!out.metric && metric) out.metric = metric;
  out.candidates = candidates_for(out.metric.value_or(false), trailing_kept, digits, seen);
  const bool full = digits && seen.shortest == seen.longest &&
                    seen.longest == static_cast<std::size_t>(digits->first) +
                                        static_cast<std::size_t>(digits->second);
  out.zeros_declared = trailing_kept.has_value() || full;
  out.declared = !out.undotted || (digits && out.zeros_declared);
  if (out.declared) out.candidates.resize(1);
  return out;
}

}  // namespace isthmus::formats
