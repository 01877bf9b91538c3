// SPDX-License-Identifier: Apache-2.0
// random-run FROM TO [SETS]: a line for whatever went wrong with the seeds in [FROM, TO), as drawn
// or with one of SETS sets of faults (1), then the tally.
#include <cstdio>
#include <cstdlib>

#include "tests/random_boards/trial.hpp"
#include "tests/support/temp_dir.hpp"

int main(int argc, char** argv) {
  using namespace isthmus::random_boards;
  if (argc < 3) {
    std::fputs("usage: random-run FROM TO [SETS]\n", stderr);
    return 2;
  }
  const auto sets = argc > 3 ? std::strtoull(argv[3], nullptr, 10) : 1;
  Tally tally;
  for (auto seed = std::strtoull(argv[1], nullptr, 10); seed < std::strtoull(argv[2], nullptr, 10);
       ++seed) {
    const isthmus::test::TempDir folder;
    const Trial trial = try_seed(seed, folder.path(), sets);
    tally.add(trial);
    if (!trial.all_right()) std::fputs(in_words(trial).c_str(), stdout);
    std::fflush(stdout);
  }
  std::fputs(in_words(tally).c_str(), stdout);
  return tally.false_passes + tally.false_alarms + tally.crashed + tally.refused > 0 ? 1 : 0;
}
