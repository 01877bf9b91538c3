// SPDX-License-Identifier: Apache-2.0
// Plays the program's own fixture and plan for a random board on a bench (bench.hpp): what conducts
// is what the board's own graph says.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "isthmus/diagnose/knowledge.hpp"
#include "tests/random_boards/bench.hpp"

namespace isthmus::random_boards {

struct Played {
  enum class End { pass, fail, incomplete, refused } end{};
  std::vector<std::string> why;  // findings; or what is untested, by kind; or the problem
  std::size_t placements{}, steps{};
};

// Files, expectation, fixture and plan: once a board, for as many sets of faults as wanted.
class Program {
 public:
  Program(const RandomBoard& board, const std::filesystem::path& folder);
  // The same for the same board and salt; ideal where the program refused the board.
  [[nodiscard]] BenchSetup bench(BenchKind kind, std::uint64_t salt) const;
  [[nodiscard]] Played play(const std::vector<Fault>& faults, const BenchSetup& setup) const;

 private:
  [[nodiscard]] std::string load(const std::filesystem::path& folder);
  const RandomBoard& random_;
  std::string refused_;
  std::unique_ptr<expect::Board> board_;
  plan::Plan plan_;
};

}  // namespace isthmus::random_boards
