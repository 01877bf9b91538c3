// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string_view>
#include <utility>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::formats {

// A drilled hole, or a slot when `from != to` (a routed path of several legs gives one Hole a leg,
// all with the same `slot` number).
struct Hole {
  Position from, to;
  Nanometres diameter{};
  std::optional<bool> plated;                       // as the file says; nothing = unknown
  std::optional<std::pair<int, int>> span;          // copper layers 1-based, as the file says
  std::int32_t slot{-1};
  std::int32_t line{};
  [[nodiscard]] bool is_slot() const { return from != to || slot >= 0; }
};

struct DrillFile {
  std::string file;
  std::vector<Hole> holes;        // file order; repeated hits are kept
  bool format_declared{true};     // false: number format was assumed; `alternatives` says what else it may be
  // Factors by which all coordinates (not diameters) would be multiplied under the other readings.
  std::vector<double> alternatives;
};

// Reads XNC / Excellon drill and route data, or a Gerber drill layer (recognised by content).
//
// Units   Nanometres, y up, origin as in the file.
// Errors  DRL-0xx at file:line:column.
// Source  XNC Format Specification 2021.11; Excellon CNC-7 manual. Left out: docs/formats/drill.md.
Result<DrillFile> read_drill(std::string_view bytes, const std::string& file_name, Diagnostics& notes);

// Writes an XNC file: metric, decimal coordinates, slots routed, FileFunction attribute.
std::string write_drill(const DrillFile& drill, int layers);

}  // namespace isthmus::formats
