// SPDX-License-Identifier: Apache-2.0
// The BOARD argument, and an option for every key of board.yaml.
#pragma once

#include <CLI/CLI.hpp>
#include <map>
#include <memory>
#include <string>

#include "isthmus/expect/board.hpp"

namespace isthmus::cli {

struct BoardOptions {
  std::string file;
  std::map<std::string, std::string> keys;  // key -> YAML text
  bool notes{false};                        // show notes too, not only warnings
};

void add_board_options(CLI::App& command, BoardOptions& options);

// Reads and works out everything; warnings go to stderr.
Result<std::unique_ptr<expect::Board>> open_board(const BoardOptions& options);

}  // namespace isthmus::cli
