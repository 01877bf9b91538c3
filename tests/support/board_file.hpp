// SPDX-License-Identifier: Apache-2.0
// A board description for a folder of real files, by how their names end.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "isthmus/formats/board_file.hpp"

namespace isthmus::test {

// The one file of a folder whose name ends so; no path where there is none.
inline std::filesystem::path ending(const std::filesystem::path& folder, const std::string& end) {
  std::vector<std::filesystem::path> found;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const std::string file = entry.path().filename().string();
    if (file.size() >= end.size() && file.compare(file.size() - end.size(), end.size(), end) == 0) {
      found.push_back(entry.path());
    }
  }
  return found.size() == 1 ? found.front() : std::filesystem::path();
}

inline formats::BoardFile board_file(const std::filesystem::path& boards, const std::string& name) {
  const std::filesystem::path folder = boards / name;
  formats::BoardFile file;
  file.path = folder / "board.yaml";
  file.name = name;
  for (const char* end : {"F_Cu.gtl", "F_Cu.gbr", "top_copper.GTL", "F.Cu.gtl"}) {
    if (!ending(folder, end).empty()) file.top = ending(folder, end);
  }
  for (const char* end : {"B_Cu.gbl", "B_Cu.gbr", "bottom_copper.GBL", "B.Cu.gbl"}) {
    if (!ending(folder, end).empty()) file.bottom = ending(folder, end);
  }
  for (const char* end : {"In1_Cu.g1", "In2_Cu.g2", "In1.Cu.g2", "In2.Cu.g3"}) {
    if (!ending(folder, end).empty()) file.inner.push_back(ending(folder, end));
  }
  for (const char* end : {"-PTH.drl", "ncdrill.DRD"}) {
    if (!ending(folder, end).empty()) file.holes.push_back({ending(folder, end), true, {}});
  }
  if (!ending(folder, "-NPTH.drl").empty()) {
    file.holes.push_back({ending(folder, "-NPTH.drl"), false, {}});
  }
  for (const char* end : {".ipc", ".d356"}) {
    if (!ending(folder, end).empty()) file.netlist = ending(folder, end);
  }
  file.netlist_source = formats::NetlistSource::file;
  file.stage = Stage::joined;
  file.joins_mode = formats::JoinsMode::all;
  return file;
}

}  // namespace isthmus::test
