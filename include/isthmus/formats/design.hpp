// SPDX-License-Identifier: Apache-2.0
// Everything a board.yaml names, read into one value.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/board_file.hpp"
#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/ipc_d_356.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats {

struct FileHash {
  std::string
      role;  // "top", "bottom", "inner", "outline", "mask-top", "mask-bottom", "holes", "netlist"
  std::string file;    // relative to board.yaml
  std::string sha256;  // 64 hexadecimal digits
};

struct Design {
  BoardFile board;
  std::vector<LayerImage>
      copper;  // by LayerId; an absent side of a one-sided board is an empty image
  std::optional<LayerImage> outline, mask_top, mask_bottom;
  std::vector<Hole> holes;  // of all drill files; `plated` and `span` filled from board.yaml where
                            // given there, else from the file, else plated = true for through holes
  std::optional<Netlist> netlist;  // when board.netlist_source is file
  std::vector<FileHash> hashes;    // board.yaml order
};

// Reads every file that a board description names.
//
// Shape   copper by LayerId. Drill formats left open are settled here by counting the holes that
//         fall inside dark flashes, then strokes, then regions; the decision is a note.
// Errors  those of the readers, plus DSN-0xx: a file missing or over 256 MB; a file whose
//         .FileFunction contradicts its key.
Result<Design> load_design(const BoardFile& board, Diagnostics& notes);

// SHA-256 over the files' roles and hashes and the keys that decide what a probe meets (plating,
// spans, netlist source, net ties, links, placed; not stage, joins, limits): the `made-for: hash`
// of a fixture.
std::string design_hash(const Design& design);

// FIPS 180-4; hexadecimal.
std::string sha256(std::string_view bytes);

// Whole file, or a Problem that names it. Refuses directories and files over `limit` bytes.
Result<std::string> read_whole_file(const std::filesystem::path& path,
                                    std::size_t limit = 256u << 20);
// Writes beside and renames: the file is whole or absent.
Result<Done> write_whole_file(const std::filesystem::path& path, std::string_view bytes);

}  // namespace isthmus::formats
