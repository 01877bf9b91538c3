// SPDX-License-Identifier: Apache-2.0
#include "cli/board_argument.hpp"

#include <fmt/format.h>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/recognise.hpp"

namespace isthmus::cli {
namespace {

namespace fs = std::filesystem;

std::string import_of(const fs::path& file) {
  const fs::path folder = file.parent_path();
  return fmt::format("write one from the design files first: isthmus import {}",
                     folder.empty() ? "." : folder.string());
}

// "a Gerber file"; empty where it is none that `import` reads.
std::string kind_of(const fs::path& file) {
  constexpr std::size_t kMost = 64u << 20;
  const auto bytes = formats::read_whole_file(file, kMost);
  if (!bytes) return "";
  if (bytes->starts_with("PK\x03\x04")) return "a zip archive";
  Diagnostics unsaid;
  const auto found = formats::recognise({file}, {}, unsaid);
  if (!found || found->size() != 1) return "";
  const formats::Recognised& it = found->front();
  if (it.gerber) return "a Gerber file";
  if (it.role == formats::FileRole::drill && it.by_content) return "a drill file";
  if (it.role == formats::FileRole::netlist && it.by_content) return "a netlist";
  return "";
}

}  // namespace

Result<fs::path> board_description(const std::string& named) {
  std::error_code error;
  const fs::path path = named;
  if (!fs::is_directory(path, error)) return path;
  const fs::path inside = path / "board.yaml";
  if (fs::exists(inside, error)) return inside.lexically_normal();
  return Problem{named,
                 0,
                 0,
                 "CLI-035",
                 "is a folder without a board.yaml",
                 "write one from the design files in it: isthmus import " + named,
                 ""};
}

Problem unless_design_file(const fs::path& file, const Problem& problem) {
  if (problem.code != "YML-001" && problem.code != "YML-004") return problem;
  const std::string kind = kind_of(file);
  if (kind.empty()) return problem;
  return {file.string(),   0, 0, "CLI-035", "is " + kind + ", not a board description",
          import_of(file), ""};
}

}  // namespace isthmus::cli
