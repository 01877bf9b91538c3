// SPDX-License-Identifier: Apache-2.0
// One seed: its board as drawn, and with faults. What the program may not say of them.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "tests/random_boards/faults.hpp"
#include "tests/random_boards/play.hpp"

namespace isthmus::random_boards {

// The faults of this seed's second board, always the same: on one seed in five they should be
// harmless.
std::vector<Fault> faults_of(const RandomBoard& board);

struct Trial {
  std::uint64_t seed{};
  std::string about;  // stage, size, adapter
  Truth truth{};      // of the board with faults
  std::string why;    // it is so
  Played good, faulty;
  std::vector<std::string> faults;
  // "false pass", "false alarm", "good but incomplete", "refused", "crash": empty when all is right.
  std::vector<std::string> wrong;
};
Trial try_seed(std::uint64_t seed, const std::filesystem::path& folder);
std::string in_words(const Trial& trial);  // one line

struct Tally {
  std::size_t boards{}, bad{}, good{}, unclear{};  // good: as drawn, and with harmless faults
  std::size_t false_passes{}, false_alarms{}, incomplete{}, refused{}, crashed{};
  std::map<std::string, std::size_t>
      reasons;  // by stage: false passes, and why good boards could not pass
  void add(const Trial& trial);
};
// Rates with their 95 % bound: 3/N where none was seen.
std::string in_words(const Tally& tally);

}  // namespace isthmus::random_boards
