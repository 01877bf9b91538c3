// SPDX-License-Identifier: Apache-2.0
// hand-run FROM TO [BOARD...]: plays `isthmus guide` with a simulated person over the demo and five
// real boards, or those named, with the seeds in [FROM, TO); a line for each run, then the tally.
// What each run wrote stays in hand-run/BOARD-SEED of the folder for temporary files.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <filesystem>

#include "tests/hand/play.hpp"

namespace {

using namespace isthmus;

int play(std::uint64_t from, std::uint64_t to, const std::vector<std::string>& wanted) {
  const auto folder = std::filesystem::temp_directory_path() / "hand-run";
  std::filesystem::create_directories(folder);
  std::map<std::string, hand_runs::Tally> tallies;
  bool right = true;
  for (const auto& [name, file] : hand_runs::boards(folder)) {
    if (!wanted.empty() && std::ranges::find(wanted, name) == wanted.end()) continue;
    const hand_runs::EtchedBoard board(file);
    for (std::uint64_t seed = from; seed < to; ++seed) {
      const auto trial = hand_runs::try_seed(name, file, board, seed,
                                             folder / (name + "-" + std::to_string(seed)));
      tallies[name].add(trial);
      right = right && trial.wrong.empty();
      std::fputs(in_words(trial).c_str(), stdout);
      std::fflush(stdout);
    }
  }
  std::fputs(in_words(tallies).c_str(), stdout);
  return right ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) {
    std::fputs("usage: hand-run FROM TO [BOARD...]\n", stderr);
    return 2;
  }
  try {
    return play(std::strtoull(argv[1], nullptr, 10), std::strtoull(argv[2], nullptr, 10),
                std::vector<std::string>(argv + 3, argv + argc));
  } catch (const std::exception& e) {
    std::fprintf(stderr, "hand-run: %s\n", e.what());
    return 2;
  }
}
