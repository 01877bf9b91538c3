// SPDX-License-Identifier: Apache-2.0
// What a file in a folder of design files is: by content first, by name second.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "isthmus/formats/board_file.hpp"

namespace isthmus::formats {

enum class FileRole { copper, mask, outline, drill, netlist, other };

struct Recognised {
  std::filesystem::path file;
  FileRole role{FileRole::other};
  Side side{Side::both};       // copper, mask
  int layer{};                 // copper: 1-based; 0 unknown
  std::optional<bool> plated;  // drill
  std::string why;             // "says .FileFunction Copper,L1,Top", "named like a top layer"
};

// `paths` are files, folders (searched one level deep) or zip archives (unpacked beside `work`, limits: 200
// files, 256 MB). Errors IMP-0xx.
Result<std::vector<Recognised>> recognise(const std::vector<std::filesystem::path>& paths,
                                          const std::filesystem::path& work, Diagnostics& notes);

// Puts a board.yaml together. Errors when two files claim one role or no copper was found; what was left
// out is noted.
Result<BoardFile> assemble_board(const std::vector<Recognised>& files, const std::string& name,
                                 Diagnostics& notes);

}  // namespace isthmus::formats
