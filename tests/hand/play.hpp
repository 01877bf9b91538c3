// SPDX-License-Identifier: Apache-2.0
// One run of `isthmus guide` with a simulated person, and what may not be said of it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "tests/hand/etched.hpp"

namespace isthmus::hand_runs {

// Who holds the needle, how many channels there are: drawn from the seed.
struct Bench {
  std::string who;                   // "careful", "hasty", "unlucky"
  std::string hand;                  // keys of the scenario
  std::string adapter;               // keys of the scenario
  std::vector<std::string> options;  // of the program
  int channels{};
};
Bench draw_bench(std::uint64_t seed);

struct Played {
  int code{-1};
  std::string verdict;
  std::vector<std::string> findings;  // "bridge A, B"
  std::size_t landings{}, planned{}, bound{};
  double minutes{};  // on the bench's clock
  double real_seconds{};
  std::string said;  // on stderr, its end
};

struct Trial {
  std::string board;
  std::uint64_t seed{};
  Bench bench;
  Truth truth;
  Played played;
  std::string wrong;  // "escape", "invented: ...", "crash: ...", "not whole: ..."; empty: all right
};

// The boards to play on: the demo, and of the real boards (tests/support/paths.hpp) those there.
// `folder` keeps what has to be written for them.
std::map<std::string, std::filesystem::path> boards(const std::filesystem::path& folder,
                                                    const std::string& only = "");

// `about` has board and seed, and what is true of the board.
Trial play(const std::filesystem::path& board_yaml, const Bench& bench,
           const std::vector<hostsim::Defect>& defects, const std::filesystem::path& folder,
           Trial about);
// Scenario, command, what was said, report and the hand's log stay in `folder`.
Trial try_seed(const std::string& name, const std::filesystem::path& board_yaml,
               const EtchedBoard& board, std::uint64_t seed, const std::filesystem::path& folder);
std::string in_words(const Trial& trial);

struct Tally {
  std::size_t runs{}, bad{}, good{}, unclear{};
  std::size_t escapes{}, invented{}, crashes{};
  std::size_t good_passed{}, bad_failed{};
  std::size_t landings{}, planned{}, bound{};
  double minutes{};
  void add(const Trial& trial);
};
std::string in_words(const std::map<std::string, Tally>& by_board);

}  // namespace isthmus::hand_runs
