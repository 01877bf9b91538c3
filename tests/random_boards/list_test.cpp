// SPDX-License-Identifier: Apache-2.0
// Every single fault that would do harm on a random board is on the program's list.
#include <gtest/gtest.h>

#include <iostream>

#include "isthmus/expect/board.hpp"
#include "isthmus/formats/board_file.hpp"
#include "tests/random_boards/faults.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::random_boards {
namespace {

constexpr double kNear = 0.6;    // mm from a break to its entry's path
constexpr double kFacing = 1.0;  // mm from the middle of a bridge: one may run aslant

Pt mm(Position p) { return {static_cast<double>(p.x) / 1e6, static_cast<double>(p.y) / 1e6}; }

bool is_near(Pt at, const expect::PossibleFault& entry, double most) {
  if (length(at - mm(entry.at)) < most) return true;
  for (std::size_t k = 0; k < entry.path.size(); ++k) {
    const Pt a = mm(entry.path[k]), b = mm(entry.path[k + 1 < entry.path.size() ? k + 1 : k]);
    if (distance(at, stroke(0, a, b, 0)) < most) return true;
  }
  return false;
}

bool is_of(const Fault& f, const expect::PossibleFault& entry) {
  if (f.kind == Fault::Kind::no_join) {
    const bool kind =
        entry.kind == expect::FaultKind::join || entry.kind == expect::FaultKind::ways;
    return kind && length(f.from_place - mm(entry.at)) < kNear;
  }
  if (index(entry.layer) != f.layer) return false;
  if (f.kind == Fault::Kind::open)
    return expect::is_break(entry.kind) && is_near(f.from_place, entry, kNear);
  return entry.kind == expect::FaultKind::bridge &&
         is_near(0.5 * (f.from_place + f.to_place), entry, kFacing);
}

// Oracle: the board's own graph.
TEST(RandomBoards, EveryHarmfulSingleFaultIsOnTheList) {
  std::size_t harmful = 0, missed = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    const test::TempDir folder;
    const RandomBoard board = make_board(seed);
    write_board(board, folder.path());
    Diagnostics notes;
    const auto file = formats::read_board_file(folder.path() / "board.yaml");
    ASSERT_TRUE(file) << seed << ": " << file.problem().message;
    const auto loaded = expect::load_board(*file, notes);
    ASSERT_TRUE(loaded) << seed << ": " << loaded.problem().message;
    Rng rng(seed);
    for (int k = 0; k < 100; ++k) {
      const std::vector<Fault> faults = draw_faults(board, rng, 1);
      if (faults.size() != 1) continue;
      const Verdict verdict = truth_of(board, faults);
      if (verdict.truth != Truth::bad) continue;
      ++harmful;
      const auto& entries = loaded.value()->faults.entries;
      if (std::ranges::any_of(entries, [&](const auto& e) { return is_of(faults[0], e); }))
        continue;
      ++missed;
      ADD_FAILURE() << seed << ": " << in_words(board, faults[0]) + " (" + verdict.why + ")";
    }
  }
  std::cout << missed << " of " << harmful << " are not on the list\n";
  EXPECT_GT(harmful, 2000U);
}

}  // namespace
}  // namespace isthmus::random_boards
