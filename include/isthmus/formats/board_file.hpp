// SPDX-License-Identifier: Apache-2.0
// board.yaml as plain values. Keys: docs/formats/board.md.
#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"
#include "isthmus/base/terms.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {

enum class NetlistSource { file, gerber_x2, artwork };
enum class JoinKind { plated, wire, rivet, eyelet, lead };
enum class JoinsMode { all, none, plated, listed };

struct JoinEntry {
  Position at;
  JoinKind kind{JoinKind::wire};
  bool deferred{false};
};
// A hole by what it is for: a way between layers alone; a component's, with more copper than its own
// pad on two layers or more; a component's that only holds a lead, whose solder will join it later.
enum class HoleGroup { via, component, lead };
struct GroupJoin {
  JoinKind kind{JoinKind::wire};
  bool deferred{false};
};
struct LinkEntry {
  Position from, to;
  Side side{Side::top};
};
// What a waiver leaves out: a point by its name; or entries of the list of possible faults, by the
// hole, the place of copper or the two nets they lie at.
enum class WaiveKind { point, join, copper, pair };
struct WaiveEntry {
  std::string point, why;
  WaiveKind kind{WaiveKind::point};
  Position at{};                      // join, copper
  Side side{Side::both};              // copper; both: the inner layer `layer`
  int layer{};                        // copper: counted from the top, L2 is 2; 0 on an outer side
  std::array<std::string, 2> nets{};  // pair
  int line{}, column{};               // in the file; 0 where it came from the command line
};
struct HoleFileEntry {
  std::filesystem::path file;
  std::optional<bool> plated;
  std::optional<std::pair<int, int>> span;
};
struct CopperKeys {
  Nanometres thickness{35_um};
  Celsius temperature{20.0};
};
struct ProcessKeys {
  Nanometres gap{200_um}, track{200_um}, undercut{15_um}, registration{200_um},
      drill_wander{100_um};
};
struct LimitKeys {
  Ohms continuity{10.0}, isolation{10e6}, bridge{100e3}, excess{1.0};
  Volts voltage{10.0};
  Nanometres window{1270_um};
};

// All paths are absolute or relative to the working directory (already resolved against the YAML
// file).
struct BoardFile {
  std::filesystem::path path;
  std::string name;
  std::optional<std::filesystem::path> top, bottom, outline, mask_top, mask_bottom;
  std::vector<std::filesystem::path> inner;
  std::vector<HoleFileEntry> holes;
  NetlistSource netlist_source{NetlistSource::artwork};
  std::filesystem::path netlist;                   // when source is file
  std::vector<std::vector<std::string>> net_ties;  // nets of one entry may share copper
  Stage stage{Stage::etched};
  JoinsMode joins_mode{JoinsMode::none};
  std::vector<JoinEntry> joins;  // when listed
  // By HoleGroup; `load_design` makes `joins` of it, with the mode `listed`.
  std::array<std::optional<GroupJoin>, 3> join_groups{};
  std::vector<LinkEntry> links;
  std::vector<WaiveEntry> waive;
  std::vector<std::array<Position, 2>> placed_top,
      placed_bottom;  // artwork place, place measured on the board
  CopperKeys copper;
  ProcessKeys process;
  LimitKeys limits;
};

// Reads a board description.
//
// Shape   `overrides` ("stage", "limits.isolation", ...) replace values before any check; paths in
//         them are relative to the working directory. There is no default for `stage` and
//         `netlist`, nor for `joins` once joins count.
// Units   as the file writes them (quantity.hpp); places in millimetres.
// Errors  YML-0xx at file:line:column: not YAML, unknown key (with the nearest known one as hint),
//         missing key, wrong type, wrong unit, `isthmus:` not 1, a side named at a stage that lacks
//         its file.
// Source  docs/formats/board.md.
Result<BoardFile> read_board_file(const std::filesystem::path& path,
                                  const std::vector<YamlOverride>& overrides = {});
// The same from memory; `path` says what relative paths are relative to.
Result<BoardFile> parse_board_file(std::string_view bytes, const std::filesystem::path& path,
                                   const std::vector<YamlOverride>& overrides = {});

// Text of a board.yaml a person can read and correct; paths relative to `path.parent_path()`.
std::string write_board_file(const BoardFile& board);

}  // namespace isthmus::formats
