// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
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
  std::optional<bool> plated;               // as the file says; nothing = unknown
  std::optional<std::pair<int, int>> span;  // copper layers 1-based, as the file says
  std::int32_t slot{-1};
  std::int32_t line{};
  [[nodiscard]] bool is_slot() const { return from != to || slot >= 0; }
};

// How a number without a decimal point is meant. Excellon's LZ (leading zeros kept) fills up on the
// right to `integer_digits`; TZ (trailing zeros kept) counts `decimals` from the right.
struct NumberFormat {
  int integer_digits{2}, decimals{4};
  bool trailing_kept{false};
  std::optional<bool> metric{};  // the unit of a file that names none; ignored where it names one
  bool operator==(const NumberFormat&) const = default;
};

struct DrillFile {
  std::string file;
  std::vector<Hole> holes;  // file order; repeated hits are kept
  // False: the file leaves the number format open, wholly or in part. `holes` then follow
  // candidates[0], the likeliest; read again with another candidate to compare (`load_design` does,
  // against the copper).
  bool format_declared{true};
  bool zeros_declared{
      true};  // the file says which zeros are kept: the implied digits are fair to assume
  std::vector<NumberFormat> candidates;
};

// Reads XNC / Excellon drill and route data, or a Gerber drill layer (recognised by content).
//
// Shape   holes in file order; repeated hits are kept; a routed path is one Hole a leg.
// Units   Nanometres, y up, origin as in the file.
// Format  `as` overrides what the file says or leaves open about numbers without a decimal point.
// Errors  DRL-0xx at file:line:column; a file without its end (M30) may be cut short and is refused.
// Source  XNC Format Specification 2021.11; Excellon CNC-7 manual.
//         Left out: docs/formats/drill.md.
Result<DrillFile> read_drill(std::string_view bytes, const std::string& file_name,
                             Diagnostics& notes, std::optional<NumberFormat> as = std::nullopt);

// What numbers may mean in a file that names no unit (DRL-007): for `as` above, likeliest first.
std::vector<NumberFormat> formats_without_unit(std::string_view bytes);

// Writes an XNC file: metric, decimal coordinates, slots routed, FileFunction attribute.
std::string write_drill(const DrillFile& drill, int layers);

}  // namespace isthmus::formats
