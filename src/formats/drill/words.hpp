// SPDX-License-Identifier: Apache-2.0
// The words of a drill file's line, and what its comments and unit lines declare.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/drill.hpp"

namespace isthmus::formats {

struct DrillWord {
  char letter{};
  std::string_view number;
  int column{};  // 1-based
};

// Letters each followed by a number; nothing if the line holds anything else.
std::optional<std::vector<DrillWord>> drill_words(std::string_view line);

// "METRIC,LZ,000.000", "INCH,TZ", "M71,TZ": a line that sets the unit; nothing for other lines.
struct UnitLine {
  bool metric{};
  std::optional<bool> trailing_kept;
  std::optional<std::pair<int, int>> digits;
};
std::optional<UnitLine> unit_line(std::string_view line);

// What a ';' comment declares.
struct DrillComment {
  std::optional<std::pair<int, int>>
      digits;  // ";FILE_FORMAT=2:5", "; FORMAT={3:3/...", "; Format : 2.4 / ..."
  std::optional<bool> trailing_kept;        // "suppress leading zeros"
  std::optional<bool> file_plated;          // FileFunction, "Contents: ... / Plated"
  std::optional<std::pair<int, int>> span;  // FileFunction
  std::optional<bool> tool_plated;          // AperFunction of the next tool
  std::optional<bool> type_plated;          // ";TYPE=PLATED": from here on
  struct Tool {
    int number{};
    Nanometres diameter{};
    std::optional<bool> plated;
    std::optional<std::int64_t> holes;  // "Quantity = 9"
  };
  // "NON-PLATED HOLES START AT T1": from this tool on.
  std::optional<std::pair<int, bool>> plated_from;
  std::optional<Tool> tool;  // "; Holesize 1. = 0.8 ... PLATED MM", a table in comments
};
DrillComment drill_comment(std::string_view text);

struct DeclaredFormat {
  std::optional<bool> metric;
  bool undotted{false};  // a coordinate other than 0 without a decimal point occurs
  bool declared{true};
  bool zeros_declared{true};
  std::vector<NumberFormat> candidates;  // at least one
};
// A first pass over the whole file. `metric` stands in where the file names no unit.
DeclaredFormat declared_format(const std::vector<std::string_view>& lines,
                               std::optional<bool> metric = std::nullopt);

}  // namespace isthmus::formats
