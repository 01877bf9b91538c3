// SPDX-License-Identifier: Apache-2.0
// What a file in a folder of design files is: by content first, by name second.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/formats/board_file.hpp"

namespace isthmus::formats {

enum class FileRole { copper, mask, outline, drill, netlist, other };

struct Recognised {
  std::filesystem::path file;
  FileRole role{FileRole::other};
  Side side{Side::both};                    // copper, mask
  int layer{};                              // copper: 1-based; 0 unknown
  std::optional<bool> plated;               // drill: by name, where the file itself says nothing
  std::optional<std::pair<int, int>> span;  // drill: by name; second = 0 means the last layer
  bool by_content{false};                   // the file itself says so; otherwise its name does
  bool by_comment{false};   // neither does: free text in its comments, the weakest witness
  bool other_known{false};  // role `other` on purpose (legend, paste, ...), not for want of a word
  bool gerber{false};
  bool bare{false};  // copper by nothing but a side in its name: others may be more telling
  // Role `other`, because what the file is called and what it says do not agree: how, and what it
  // would be.
  std::string doubt;
  FileRole doubted{FileRole::other};
  Side doubted_side{Side::both};
  bool has_nets{false};  // copper: carries X2 net names (.N)
  bool named{false};     // given by name, not found in a folder
  int depth{};           // folders below the one that was named
  std::string why;       // "says .FileFunction Copper,L1,Top", "named like a top layer"
};

// `paths` are files, folders (with what lies up to four folders below; hidden ones are passed over)
// or zip archives (unpacked into `work`/<name of the archive>, whole or not at all).
//
// Shape   by path.
// Errors  IMP-001..IMP-004, IMP-008, IMP-009.
// Limits  200 files and 256 MB an archive.
Result<std::vector<Recognised>> recognise(const std::vector<std::filesystem::path>& paths,
                                          const std::filesystem::path& work, Diagnostics& notes);

// Puts a board description together. For each role the files nearest to the top count, and those
// below are left; among these what a file says goes before what its name suggests, and that before
// free text. Of two drill files with the same holes one is kept. What was left out is noted.
//
// Shape   `path` stays empty. Stage `etched` (`etched-top`/`-bottom` for a one-sided board) and no
//         joins, which is noted.
// Errors  IMP-005..IMP-007: two files claim one role, no copper was found, a layer is missing.
Result<BoardFile> assemble_board(const std::vector<Recognised>& files, const std::string& name,
                                 Diagnostics& notes);

}  // namespace isthmus::formats
