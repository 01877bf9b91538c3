// SPDX-License-Identifier: Apache-2.0
// A small two-sided board written as design files into a temporary folder and read back through the
// whole chain.
#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "isthmus/expect/board.hpp"

namespace isthmus::test {

// Nets: ALPHA and BETA, three pads each on parallel tracks; one lone pad; DELTA through a via to
// the bottom; ECHO, two pads; FOXTROT, four pads on a trunk. Pads 0.5 mm, tracks 0.3 mm, rows 1 mm
// apart.
class SmallBoard {
 public:
  explicit SmallBoard(const std::string& stage = "joined", bool both_sides = false);
  ~SmallBoard();
  [[nodiscard]] const expect::Board& board() const { return *board_; }
  [[nodiscard]] const std::filesystem::path& dir() const { return dir_; }

 private:
  std::filesystem::path dir_;
  std::unique_ptr<expect::Board> board_;
};

}  // namespace isthmus::test
