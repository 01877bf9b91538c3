// SPDX-License-Identifier: Apache-2.0
// random-board SEED --out DIR [SET]: the board's files, scenarios of the board with its faults
// (bad.yaml) and as drawn (good.yaml), and the truth on stdout.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>

#include "tests/random_boards/trial.hpp"

int main(int argc, char** argv) {
  using namespace isthmus::random_boards;
  if (argc < 4 || std::strcmp(argv[2], "--out") != 0) {
    std::fputs("usage: random-board SEED --out DIR [SET]\n", stderr);
    return 2;
  }
  const RandomBoard board = make_board(std::strtoull(argv[1], nullptr, 10));
  const std::filesystem::path folder = argv[3];
  write_board(board, folder);
  const auto faults = faults_of(board, argc > 4 ? std::strtoull(argv[4], nullptr, 10) : 0);
  std::ofstream(folder / "good.yaml") << scenario_of(board, {});
  std::ofstream(folder / "bad.yaml") << scenario_of(board, faults);
  for (const Fault& f : faults) std::printf("%s\n", in_words(board, f).c_str());
  const char* truths[] = {"good", "unclear", "bad"};
  const Verdict verdict = truth_of(board, faults);
  std::printf("%s %s\n", truths[static_cast<int>(verdict.truth)], verdict.why.c_str());
  return 0;
}
