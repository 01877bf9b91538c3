// SPDX-License-Identifier: Apache-2.0
// Whole runs over the line board (tests/pipeline/line_board.hpp) on a bench whose keys are set.
#pragma once

#include "tests/pipeline/line_board.hpp"

namespace isthmus::test {

class LineRun {
 public:
  LineRun() { write_line_board(folder); }
  std::string resistors = "[a1, a2, 0.01], [a2, a3, 0.01], [b1, b2, 0.02]";  // as designed
  std::string channels = "8";
  std::string adapter;    // "key: value, ..."
  std::string more;       // lines of the scenario
  bool of_copper{false};  // the board itself lies there, not its network
  std::vector<std::string> options;

  Ran run() {
    write(folder / "bench.yaml", "isthmus: 1\nchannels: " + channels +
                                     "\nseed: 2\nclock: virtual\nadapter: {" + adapter + "}\n" +
                                     more + (of_copper ? "board: board.yaml\n" : network()));
    std::vector<std::string> words{"test",      folder / "board.yaml",
                                   "--fixture", folder / "f.yaml",
                                   "--adapter", "sim:" + (folder / "bench.yaml").string(),
                                   "--record",  folder / "r.db",
                                   "--json"};
    words.insert(words.end(), options.begin(), options.end());
    return isthmus(words);
  }
  Folder folder;

 private:
  [[nodiscard]] std::string network() const {
    return "network:\n  points: {A.1: a1, A.2: a2, A.3: a3, B.1: b1, B.2: b2, C.1: c1}\n  "
           "resistors: [" +
           resistors + "]\n";
  }
};

}  // namespace isthmus::test
