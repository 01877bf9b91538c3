// SPDX-License-Identifier: Apache-2.0
// random-run FROM TO [--all]: a line for each seed in [FROM, TO) that went wrong, then the tally.
#include <cstdio>
#include <cstdlib>

#include "tests/random_boards/trial.hpp"
#include "tests/support/temp_dir.hpp"

int main(int argc, char** argv) {
  using namespace isthmus::random_boards;
  if (argc < 3) {
    std::fputs("usage: random-run FROM TO [--all]\n", stderr);
    return 2;
  }
  Tally tally;
  for (auto seed = std::strtoull(argv[1], nullptr, 10); seed < std::strtoull(argv[2], nullptr, 10);
       ++seed) {
    const isthmus::test::TempDir folder;
    const Trial trial = try_seed(seed, folder.path());
    tally.add(trial);
    if (!trial.wrong.empty() || argc > 3) std::printf("%s\n", in_words(trial).c_str());
    std::fflush(stdout);
  }
  std::fputs(in_words(tally).c_str(), stdout);
  return tally.false_passes + tally.false_alarms + tally.crashed + tally.refused > 0 ? 1 : 0;
}
