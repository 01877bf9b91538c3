// SPDX-License-Identifier: Apache-2.0
#include "tests/support/adapter_page.hpp"

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <fstream>
#include <stdexcept>

#include "tests/support/paths.hpp"

namespace isthmus::test {
namespace {

// CRC-16/CCITT-FALSE by its definition, bit by bit.
std::string check_of(const std::string& text) {
  std::uint32_t crc = 0xFFFF;
  for (const char c : text) {
    crc ^= static_cast<std::uint32_t>(static_cast<unsigned char>(c)) << 8;
    for (int i = 0; i < 8; ++i) crc = ((crc << 1) ^ ((crc & 0x8000) != 0 ? 0x1021U : 0U)) & 0xFFFF;
  }
  char digits[8];
  std::snprintf(digits, sizeof digits, "#H%04X", static_cast<unsigned>(crc));
  return digits;
}

// Cuts at `separator` outside quotes and parentheses.
std::vector<std::string> split(const std::string& text, char separator) {
  std::vector<std::string> parts(1);
  bool quoted = false;
  int depth = 0;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (!quoted) depth += c == '(' ? 1 : c == ')' ? -1 : 0;
    if (c == separator && !quoted && depth == 0)
      parts.emplace_back();
    else
      parts.back() += c;
  }
  return parts;
}

bool is_reading(const std::vector<std::string>& fields) {
  return fields.size() == 5 && fields[1].starts_with("(@");
}

std::string reading_difference(const std::vector<std::string>& a,
                               const std::vector<std::string>& b) {
  for (const auto& fields : {a, b}) {
    const std::string body = fields[0] + ',' + fields[1] + ',' + fields[2] + ',' + fields[3] + ',';
    if (fields[4] != check_of(body)) return "the check of " + body + " is " + check_of(body);
  }
  if (a[0] != b[0]) return "tag";
  if (a[1] != b[1]) return "list";
  if (a[3] != b[3]) return "status";
  const double x = std::stod(a[2]), y = std::stod(b[2]);
  if (a[2].size() != b[2].size()) return "form of the value";
  return std::abs(x - y) <= 2e-3 + 0.01 * std::abs(x) ? "" : "value";
}

std::string answer_difference(const std::string& expected, const std::string& got) {
  const auto a = split(expected, ','), b = split(got, ',');
  if (is_reading(a)) return is_reading(b) ? reading_difference(a, b) : "not a reading";
  if (expected.starts_with("\"CONTRACT"))
    return got.starts_with("\"") && got.find("CONTRACT 1;") != std::string::npos ? "" : "contract";
  if (a.size() == 4) return b.size() == 4 ? "" : "not four fields";
  if (a.size() == 2 && a[1].starts_with('"'))
    return a[0] == b[0] && b.size() == 2 && b[1].starts_with('"') ? "" : "error";
  return expected == got ? "" : "answer";
}

}  // namespace

AdapterPage read_adapter_page() {
  const auto file = source_dir() / "docs" / "adapter.md";
  std::ifstream in(file);
  if (!in) throw std::runtime_error("cannot read " + file.string());
  AdapterPage page;
  std::string fence;
  int number = 0;
  for (std::string line; std::getline(in, line);) {
    ++number;
    if (line.starts_with("```")) {
      fence = fence.empty() ? line : "";
    } else if (fence == "```yaml") {
      page.scenario += line + '\n';
    } else if (fence == "```" && line.starts_with("> ")) {
      page.exchanges.push_back({number, line.substr(2), ""});
    } else if (fence == "```" && line.starts_with("< ")) {
      page.exchanges.at(page.exchanges.size() - 1).response = line.substr(2);
    }
  }
  return page;
}

std::string difference(const std::string& expected, const std::string& got) {
  const auto a = split(expected, ';'), b = split(got, ';');
  if (a.size() != b.size())
    return std::to_string(a.size()) + " answers, got " + std::to_string(b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (const std::string what = answer_difference(a[i], b[i]); !what.empty())
      return what + ": expected " + a[i] + ", got " + b[i];
  }
  return "";
}

}  // namespace isthmus::test
