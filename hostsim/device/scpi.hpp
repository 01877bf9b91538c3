// SPDX-License-Identifier: Apache-2.0
// Program messages of the adapter language, taken apart: docs/adapter.md, grammar.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace isthmus::hostsim {

// A crosspoint, or a rectangular block of them; numbers as written, not yet checked against the
// matrix.
struct ListEntry {
  std::int64_t row_from{}, channel_from{}, row_to{}, channel_to{};
  bool operator==(const ListEntry&) const = default;
};

enum class ArgumentKind { number, list, string };
struct Argument {
  ArgumentKind kind{ArgumentKind::number};
  double number{};
  std::vector<ListEntry> list;
  std::string text;
};

// One message unit. With `error` not 0 the header still holds what could be read of it.
struct Unit {
  bool common{false};  // "*RST"
  bool rooted{false};  // began with ':'
  bool query{false};
  std::vector<std::string> keywords;  // as written; common commands without the star
  std::vector<Argument> arguments;
  int error{0};
  std::string detail;
};

// Splits at ';' outside strings and reads each unit by itself: a fault in one does not hide the
// next. A message of blanks alone has no units.
std::vector<Unit> parse_message(std::string_view message);

// Whether `word` is the short or the long form of `keyword` ("SYSTem": SYST or SYSTEM, any case).
bool matches_keyword(std::string_view keyword, std::string_view word);

}  // namespace isthmus::hostsim
