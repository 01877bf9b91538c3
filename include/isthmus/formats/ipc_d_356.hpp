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

enum class FeatureKind { through_hole, surface, tooling, blind_via };

// One test record, with its continuations folded in.
struct NetlistRecord {
  FeatureKind kind{FeatureKind::surface};
  std::string net;  // verbatim after aliases; "" for blank; "N/C" kept: each such record is a net
                    // of its own
  std::string ref;  // "VIA" for vias; may be empty
  std::string pin;  // may be empty
  Position at;
  std::optional<Position> hole_at;  // when a continuation puts the hole away from the pad's centre
  Nanometres size_x{}, size_y{};    // 0 = not given; round: size_y == size_x
  double rotation_deg{};            // counter-clockwise
  std::optional<Nanometres> hole;   // diameter
  std::optional<bool> plated;
  int access{};  // 0 both sides, 1 top, n = layer n (the largest seen is the bottom), -1 none
  bool mid_net{false};
  std::optional<std::pair<int, int>> span;  // 307: start and end layer
  std::optional<int>
      mask;  // 0 none, 1 top, 2 bottom, 3 both covered; writers disagree: a hint only
  std::int32_t line{};
};

// How one file's places are brought to the artwork's: mirror and scale about the origin, then
// shift.
struct Frame {
  Position shift;
  bool mirror_x{false};  // x becomes -x
  bool mirror_y{false};
  double factor{1.0};
  [[nodiscard]] Position apply(Position p) const;
  bool operator==(const Frame&) const = default;
};

struct Netlist {
  std::string file;
  std::vector<NetlistRecord> records;  // file order
  int bottom_access{2};                // the access code that means the bottom side
  bool metric{false};
  std::optional<Frame> moved;  // set when `load_design` has brought the records to the artwork
};

// Reads IPC-D-356 / 356A. Tolerates shifted columns, blank-padded fields, missing UNITS.
//
// Shape   317 with its 017s is one record; 027 under a surface record is a record of its own with
//         the parent's net and pin where its own are blank; 367 is `tooling`.
// Units   Nanometres, y up, origin as in the file.
// Errors  NET-0xx at file:line:column; revision B is refused, and a file without its 999 record
//         (cut short).
// Source  IPC-D-356A. Left out: docs/formats/ipc-d-356.md.
Result<Netlist> read_ipc_d_356(std::string_view bytes, const std::string& file_name,
                               Diagnostics& notes);

// Writes conformant 356A records, metric (CUST 1), aliases for names over 14 characters.
std::string write_ipc_d_356(const Netlist& netlist);

}  // namespace isthmus::formats
