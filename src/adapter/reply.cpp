// SPDX-License-Identifier: Apache-2.0
#include "adapter/reply.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>

namespace isthmus::adapter {
namespace {

constexpr double kOverRangeValue = 9.9e37;  // SCPI-1999 vol. 1, 7.2.1.4
constexpr double kNoValue = 9.91e37;        // 7.2.1.5

void sort_unique(std::vector<Crosspoint>& closed) {
  std::ranges::sort(closed);
  closed.erase(std::unique(closed.begin(), closed.end()), closed.end());
}

// "tag" "(@...)" "value" "status" "#Hxxxx": the list holds commas of its own.
std::optional<std::array<std::string_view, 5>> fields_of(std::string_view text) {
  std::array<std::string_view, 5> out;
  const auto comma = text.find(',');
  if (comma == std::string_view::npos) return std::nullopt;
  out[0] = text.substr(0, comma);
  text.remove_prefix(comma + 1);
  const auto close = text.find(')');
  if (!text.starts_with("(@") || close == std::string_view::npos) return std::nullopt;
  out[1] = text.substr(0, close + 1);
  text.remove_prefix(close + 1);
  for (std::size_t i = 2; i < 5; ++i) {
    if (!text.starts_with(',')) return std::nullopt;
    text.remove_prefix(1);
    out[i] = text.substr(0, i < 4 ? text.find(',') : std::string_view::npos);
    text.remove_prefix(out[i].size());
  }
  return out;
}

bool checksum_holds(std::string_view text, std::string_view check) {
  if (check.size() != 6 || !check.starts_with("#H")) return false;
  unsigned said = 0;
  const char* const end = check.data() + check.size();
  const auto read = std::from_chars(check.data() + 2, end, said, 16);
  if (read.ec != std::errc{} || read.ptr != end) return false;
  return said == crc16(text.substr(0, text.size() - check.size()));
}

// Between "value as sent" and "value to be trusted" stands the status: where the two contradict
// each other there is no reading, only doubt.
void settle_value(Answer& answer, Measure what) {
  using namespace status;
  const bool resistance = what != Measure::contact && what != Measure::voltage;
  const bool by_current = what == Measure::resistance || what == Measure::four_wire;
  const bool over = answer.value == kOverRangeValue;
  if (resistance && over)
    answer.over_range = true;
  else if (over || (answer.status & kOverRange) || (by_current && (answer.status & kSourceLimit)))
    answer.none = true;
  if (answer.value >= kNoValue || answer.value <= -kOverRangeValue) answer.none = true;
  if (answer.status & kNotDone) answer.none = true;
  if (what == Measure::contact && answer.value != 0 && answer.value != 1) answer.none = true;
  if (answer.none) answer.over_range = false;
}

// Sign, digits with a point, exponent: NR3 (IEEE 488.2, 8.7.4).
bool is_nr3(std::string_view text) {
  if (text.starts_with('+') || text.starts_with('-')) text.remove_prefix(1);
  const auto e = text.find('E');
  if (e == std::string_view::npos) return false;
  std::string_view exponent = text.substr(e + 1);
  if (exponent.starts_with('+') || exponent.starts_with('-')) exponent.remove_prefix(1);
  const std::string_view mantissa = text.substr(0, e);
  const auto digits = [](std::string_view s) {
    return !s.empty() && std::ranges::all_of(s, [](char c) { return c >= '0' && c <= '9'; });
  };
  const auto point = mantissa.find('.');
  return point != std::string_view::npos && digits(mantissa.substr(0, point)) &&
         digits(mantissa.substr(point + 1)) && digits(exponent);
}

}  // namespace

std::uint16_t crc16(std::string_view bytes) {
  unsigned crc = 0xFFFF;
  for (const char c : bytes) {
    crc ^= static_cast<unsigned>(static_cast<unsigned char>(c)) << 8;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 0x8000) ? (crc << 1) ^ 0x1021 : crc << 1;
  }
  return static_cast<std::uint16_t>(crc & 0xFFFF);
}

std::string canonical_list(std::vector<Crosspoint> closed) {
  sort_unique(closed);
  std::string out = "(@";
  for (const Crosspoint& c : closed) {
    out += fmt::format("{}{}!{}", out.size() > 2 ? "," : "", c.row, c.channel);
  }
  return out + ")";
}

std::vector<std::string> command_lists(std::vector<Crosspoint> closed, std::size_t limit) {
  ENSURE(limit >= 40);
  sort_unique(closed);
  std::vector<std::string> out;
  for (std::size_t i = 0, j = 0; i < closed.size(); i = j) {
    j = i + 1;
    while (j < closed.size() && closed[j].row == closed[i].row &&
           closed[j].channel == closed[j - 1].channel + 1) {
      ++j;
    }
    if (j - i == 2) j = i + 1;  // a range of two is longer than its two entries
    std::string entry = fmt::format("{}!{}", closed[i].row, closed[i].channel);
    if (j - i > 1) entry += fmt::format(":{}!{}", closed[j - 1].row, closed[j - 1].channel);
    if (out.empty() || out.back().size() + entry.size() + 2 > limit)
      out.push_back("(@" + entry);
    else
      out.back() += "," + entry;
  }
  for (std::string& list : out) list += ")";
  return out;
}

std::string number_text(double value) {
  std::string text = fmt::format("{}", value);
  std::ranges::replace(text, 'e', 'E');
  return text;
}

std::string measure_query(const Request& request) {
  switch (request.what) {
    case Measure::resistance:
      return ":MEAS:RES?";
    case Measure::four_wire:
      return ":MEAS:FRES?";
    case Measure::isolation:
      return ":MEAS:ISOL? " + number_text(request.at_least.value);
    case Measure::contact:
      return ":MEAS:CONT?";
    case Measure::voltage:
      return ":MEAS:VOLT?";
  }
  ENSURE(false);
}

std::optional<double> parse_number(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end || !(value - value == 0)) return std::nullopt;
  return value;
}

std::optional<long> parse_integer(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  long value = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end) return std::nullopt;
  return value;
}

Judged judge_answer(std::string_view text, const Request& request) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  const auto fields = fields_of(text);
  if (!fields) return {std::nullopt, "it has not the five fields of an answer"};
  const auto& [tag, list, value, status_text, check] = *fields;
  if (!checksum_holds(text, check)) return {std::nullopt, "its checksum is wrong"};
  if (tag != std::to_string(request.tag)) {
    return {std::nullopt,
            "it answers step " + std::string(tag) + " instead of " + std::to_string(request.tag)};
  }
  const auto number = is_nr3(value) ? parse_number(value) : std::nullopt;
  const auto bits = parse_integer(status_text);
  if (!number || !bits || *bits < 0 || *bits > 63) {
    return {std::nullopt, "its value or status is no number"};
  }
  Answer answer{request.tag, *number, false, false, static_cast<unsigned>(*bits)};
  if (list != canonical_list(request.closed) && !(answer.status & status::kNotDone)) {
    return {std::nullopt, "other switches were closed than commanded: " + std::string(list)};
  }
  settle_value(answer, request.what);
  return {answer, ""};
}

}  // namespace isthmus::adapter
