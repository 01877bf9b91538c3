// SPDX-License-Identifier: Apache-2.0
// The catalogue of docs/proof.md: the shapes in which faults could hide, each drawn small, with
// places touched and left out.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "isthmus/expect/wiring.hpp"

namespace isthmus::test {

// Fewest faults that harm while every reading is that of a good board; kNever: no set of up to 5.
struct Fewest {
  static constexpr std::size_t kNever = 0;
  std::size_t hide{kNever};  // every two nets read to each other
  std::size_t in_window{
      kNever};                 // only nets that face each other, also through what is not touched
  std::size_t masked{kNever};  // features parted that bridges within one or a tied net join again
  bool operator==(const Fewest&) const = default;
};

struct Case {
  std::string kind;  // "tree", "ring", ...
  std::string name;  // unique
  expect::Wiring wiring;
  std::vector<std::uint32_t> touched;
  Fewest fewest;  // counted on paper, beside each drawing; the test counts by exhaustion

  [[nodiscard]] std::vector<std::uint32_t> features() const;
  [[nodiscard]] std::vector<std::uint32_t> everything() const;
};

std::vector<Case> trees();
std::vector<Case> rings();
std::vector<Case> stubs();
std::vector<Case> ties();
std::vector<Case> loose_islands();
std::vector<Case> parallel_joins();
std::vector<Case> pours_with_two_necks();
std::vector<Case> unjoined_nets();
std::vector<Case> untouched_nets();
std::vector<Case> several_facings();

std::vector<Case> catalogue();

// Two to four pieces of three to seven nodes: trees with extra edges, joins, facings, places left
// out; the same for a seed everywhere.
Case random_case(std::uint32_t seed);

}  // namespace isthmus::test
