// SPDX-License-Identifier: Apache-2.0
// The copper layers among the real boards' files, by the name's ending as it is usual in the trade.
#pragma once

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <string>
#include <vector>

#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::test {

inline bool named_like_copper(const std::filesystem::path& file) {
  std::string name = file.filename().string();
  std::transform(name.begin(), name.end(), name.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  const auto has = [&name](const char* part) { return name.find(part) != std::string::npos; };
  if (has("mask") || has("edge") || has("outline") || has("silk") || has("paste")) return false;
  if (has("_cu.g") || has(".cu.g")) return true;
  if (has(".gtl") || has(".gbl")) return true;
  return (has("copper") || has("top.gbr") || has("bottom.gbr")) && has(".g");
}

inline std::vector<std::filesystem::path> copper_files(const std::filesystem::path& boards) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(boards)) {
    if (entry.is_regular_file() && named_like_copper(entry.path())) files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

}  // namespace isthmus::test
