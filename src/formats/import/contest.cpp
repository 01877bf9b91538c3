// SPDX-License-Identifier: Apache-2.0
#include "formats/import/contest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <string>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

// "2026-02-03T14:57:11" at the start of `s`.
std::optional<std::string> standard_date(std::string_view s) {
  constexpr std::string_view kForm = "dddd-dd-ddTdd:dd:dd";
  if (s.size() < kForm.size()) return std::nullopt;
  for (std::size_t i = 0; i < kForm.size(); ++i) {
    if (kForm[i] == 'd' ? !is_digit(s[i]) : s[i] != kForm[i]) return std::nullopt;
  }
  return std::string(s.substr(0, kForm.size()));
}

// "Tue Feb 03 14:57:11 2026", as the C library writes it.
std::optional<std::string> long_date(std::string_view s) {
  static constexpr std::array<std::string_view, 12> kMonths{
      "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::vector<std::string_view> w = words(s);
  if (w.size() < 5 || w[3].size() != 8) return std::nullopt;
  const auto month = std::ranges::find(kMonths, w[1]);
  const auto day = to_int(w[2]), year = to_int(w[4].substr(0, 4));
  if (month == kMonths.end() || !day || !year) return std::nullopt;
  return fmt::format("{:04}-{:02}-{:02}T{}", *year, month - kMonths.begin() + 1, *day, w[3]);
}

// The day and time a file says it was made; comparable as text.
std::optional<std::string> date_of(const std::filesystem::path& file) {
  const Result<std::string> bytes = read_whole_file(file);
  if (!bytes) return std::nullopt;
  const std::string_view head = std::string_view(*bytes).substr(0, 8192);
  for (const std::string_view line : split_lines(head)) {
    const std::size_t iso = line.find("CreationDate,");
    if (iso != std::string_view::npos) return standard_date(line.substr(iso + 13));
    const std::size_t origin = line.find("Date:");
    if (origin != std::string_view::npos) return long_date(line.substr(origin + 5));
  }
  return std::nullopt;
}

bool newer(const Recognised& a, const Recognised& b) {
  const auto x = date_of(a.file), y = date_of(b.file);
  return x && y && *x > *y;
}

}  // namespace

int rank_of(const Recognised& f) { return f.by_content ? 0 : f.by_comment ? 3 : f.bare ? 2 : 1; }

bool same_bytes(const Recognised& a, const Recognised& b) {
  std::error_code error;
  const auto size = std::filesystem::file_size(a.file, error);
  if (error || size != std::filesystem::file_size(b.file, error) || error) return false;
  const Result<std::string> x = read_whole_file(a.file), y = read_whole_file(b.file);
  return x && y && *x == *y;
}

Contest contest_of(std::vector<const Recognised*> claims) {
  Contest out;
  if (claims.empty()) return out;
  std::ranges::stable_sort(claims, {}, [](const Recognised* f) { return rank_of(*f); });
  out.winner = claims[0];
  for (std::size_t i = 1; i < claims.size(); ++i) {
    const Recognised* f = claims[i];
    const bool equal = rank_of(*f) == rank_of(*out.winner);
    if (equal && newer(*f, *out.winner)) std::swap(f, out.winner);
    out.losers.push_back({f, Contest::How::weaker});
  }
  for (Contest::Loser& l : out.losers) {
    const bool equal = rank_of(*l.file) == rank_of(*out.winner);
    l.how = same_bytes(*l.file, *out.winner) ? Contest::How::same_bytes
            : !equal                         ? Contest::How::weaker
            : newer(*out.winner, *l.file)    ? Contest::How::older
                                             : Contest::How::equal;
  }
  return out;
}

}  // namespace isthmus::formats
