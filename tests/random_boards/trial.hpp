// SPDX-License-Identifier: Apache-2.0
// One seed: its board as drawn, and with faults. What the program may not say of them.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "tests/random_boards/faults.hpp"
#include "tests/random_boards/play.hpp"

namespace isthmus::random_boards {

// The board with faults.
struct Second {
  std::vector<std::string> faults;
  Truth truth{};
  std::string why;          // it is so
  std::string bench, sort;  // what is the matter with it
  Played played;
  std::string wrong;  // as Trial::wrong
};

// On which benches: of one kind, or by the seed a third on each.
enum class Benches { ideal, poor, faulty, mixed };
std::optional<Benches> benches_named(std::string_view name);
BenchKind bench_of(Benches benches, std::uint64_t seed);

struct Trial {
  std::uint64_t seed{};
  std::string about;  // stage, size, adapter
  BenchKind kind{};
  std::string bench, sort;
  Played good;  // as drawn
  std::vector<Second> seconds;
  // "false pass", "false alarm: ...", "good but incomplete: ...", "refused: ...", "crash: ...";
  // "known: ..." before what no run can tell yet. Empty when all is right: on a poor or faulty bench
  // a good board may be incomplete.
  std::string wrong;
  [[nodiscard]] bool all_right() const;
};
Trial try_seed(std::uint64_t seed, const std::filesystem::path& folder, std::uint64_t sets = 1,
               Benches benches = Benches::ideal);
std::string in_words(const Trial& trial);  // a line for whatever went wrong
// A line for each good board that did not pass.
std::string why_incomplete(const Trial& trial);

struct Tally {
  std::size_t boards{}, bad{}, good{}, unclear{};  // good: as drawn, and with harmless faults
  std::size_t bad_of_passing{};                    // whose board as drawn passes
  std::size_t false_passes{}, false_alarms{}, incomplete{}, refused{}, crashed{}, known{};
  // Good boards on poor and on faulty benches, and how many of them passed.
  struct Of {
    std::size_t good{}, passed{};
  };
  Of poor{}, faulty{};
  std::map<std::string, Of> by_sort;
  std::map<std::string, std::size_t>
      reasons;  // by stage: false passes, and why good boards could not pass
  void add(const Trial& trial);

 private:
  void count(Truth truth, const std::string& wrong);
};
// Rates with their 95 % bound: 3/N where none was seen.
std::string in_words(const Tally& tally);

}  // namespace isthmus::random_boards
