// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/text.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "isthmus/base/edit_distance.hpp"

namespace isthmus::formats {

std::string_view trim(std::string_view s) {
  const auto space = [](char c) { return is_blank(c) || c == '\r' || c == '\n'; };
  while (!s.empty() && space(s.front())) s.remove_prefix(1);
  while (!s.empty() && space(s.back())) s.remove_suffix(1);
  return s;
}

std::string lower(std::string_view s) {
  std::string out(s);
  for (char& c : out) {
    if (is_upper(c)) c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

bool contains(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

std::vector<std::string_view> split_lines(std::string_view bytes) {
  if (bytes.substr(0, 3) == "\xEF\xBB\xBF") bytes.remove_prefix(3);
  std::vector<std::string_view> lines;
  while (!bytes.empty()) {
    const std::size_t end = bytes.find_first_of("\r\n");
    lines.push_back(bytes.substr(0, end));
    if (end == std::string_view::npos) break;
    const bool pair = bytes[end] == '\r' && end + 1 < bytes.size() && bytes[end + 1] == '\n';
    bytes.remove_prefix(end + (pair ? 2 : 1));
  }
  return lines;
}

std::vector<std::string_view> split(std::string_view s, char at) {
  std::vector<std::string_view> out;
  for (;;) {
    const std::size_t end = s.find(at);
    out.push_back(s.substr(0, end));
    if (end == std::string_view::npos) return out;
    s.remove_prefix(end + 1);
  }
}

std::vector<std::string_view> words(std::string_view s) {
  std::vector<std::string_view> out;
  for (std::size_t i = 0; i < s.size();) {
    if (is_blank(s[i])) {
      ++i;
      continue;
    }
    std::size_t end = i;
    while (end < s.size() && !is_blank(s[end])) ++end;
    out.push_back(s.substr(i, end - i));
    i = end;
  }
  return out;
}

std::optional<double> to_double(std::string_view s) {
  if (!s.empty() && s.front() == '+') s.remove_prefix(1);
  const std::size_t first = s.substr(0, 1) == "-" ? 1 : 0;
  if (s.size() <= first || !(is_digit(s[first]) || s[first] == '.')) return std::nullopt;
  double v{};
  const auto [end, error] = std::from_chars(s.data(), s.data() + s.size(), v);
  if (error != std::errc{} || end != s.data() + s.size() || !std::isfinite(v)) return std::nullopt;
  return v;
}

std::optional<std::int64_t> to_int(std::string_view s) {
  if (!s.empty() && s.front() == '+') s.remove_prefix(1);
  if (s.empty() || s.substr(0, 2) == "+-") return std::nullopt;
  std::int64_t v{};
  const auto [end, error] = std::from_chars(s.data(), s.data() + s.size(), v);
  if (error != std::errc{} || end != s.data() + s.size()) return std::nullopt;
  return v;
}

std::string nearest(std::string_view word, const std::vector<std::string>& candidates) {
  std::string best;
  std::size_t least = SIZE_MAX;
  for (const std::string& c : candidates) {
    const std::size_t d = edit_distance(lower(word), lower(c));
    if (d < least && d <= std::max<std::size_t>(2, c.size() / 3)) {
      least = d;
      best = c;
    }
  }
  return best;
}

std::string shown(std::string_view s) {
  std::string out(s.substr(0, 40));
  std::ranges::replace_if(
      out, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; }, '?');
  return s.size() > 40 ? out + "..." : out;
}

}  // namespace isthmus::formats
