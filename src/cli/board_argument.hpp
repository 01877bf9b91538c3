// SPDX-License-Identifier: Apache-2.0
// What a person may name as BOARD, and what is said where it is no board description.
#pragma once

#include <filesystem>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::cli {

// The description itself; of a folder the board.yaml in it. Errors CLI-035.
Result<std::filesystem::path> board_description(const std::string& named);

// CLI-035 in place of `problem` where `file` is one that `import` reads; else `problem` itself.
Problem unless_design_file(const std::filesystem::path& file, const Problem& problem);

}  // namespace isthmus::cli
