// SPDX-License-Identifier: Apache-2.0
// From a folder as a fab house gets it to a board description, with what each file was taken for.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/board_file.hpp"
#include "isthmus/formats/hole_groups.hpp"

namespace isthmus::formats {

struct ImportedFile {
  std::string role;  // "top copper", "L2 copper", "top mask", "outline", "holes", "netlist", "left"
  std::filesystem::path file;  // empty: net names of the copper files themselves
  std::string why;
  bool junk{false};  // left, and no design file at all
};

// What fits of it where it should.
struct FitShare {
  std::string what;  // "holes", "netlist", "top mask", "bottom mask"
  std::size_t landed{}, of{};
  std::string how;  // "plated holes lie in pads"
};

struct Imported {
  BoardFile board;
  std::vector<ImportedFile> files;  // those taken in the order of the description, then those left
  std::vector<FitShare> fit;
  std::vector<GroupedHole> holes;  // that can be joined
  std::optional<Problem> trouble;  // why the description cannot be loaded yet
  bool contradicts{false};         // the files fit each other only with something exchanged,
                                   // mirrored or added
};

struct ImportWish {
  std::vector<std::filesystem::path> paths;
  std::filesystem::path out;  // where the description will stand; archives are unpacked beside it
  std::string name;
  std::optional<Stage> stage;
};

// Recognises, assembles and loads the files once. A mask or outline that cannot be read is left,
// with a warning: neither is needed.
//
// Errors  those of `recognise` and `assemble_board`; what stops the loading is `trouble`.
Result<Imported> import_files(const ImportWish& wish, Diagnostics& notes);

// Those to be told one by one, and how many junk files beyond the first few are not.
struct Told {
  std::vector<ImportedFile> files;
  std::size_t more{};
};
Told told(const std::vector<ImportedFile>& files);

// A name on one line, whatever it holds.
std::string one_line(const std::filesystem::path& file);

// The description, headed by what each file was taken for and why.
std::string import_text(const Imported& imported);

}  // namespace isthmus::formats
