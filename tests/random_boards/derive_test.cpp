// SPDX-License-Identifier: Apache-2.0
// What the rules of the list conclude on random boards from every reading there could be: each point
// touched from each side, all pairs read. No plan, no meter.
#include <gtest/gtest.h>

#include <iostream>

#include "isthmus/expect/board.hpp"
#include "isthmus/formats/board_file.hpp"
#include "tests/random_boards/faults.hpp"
#include "tests/random_boards/touch.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::random_boards {
namespace {

using expect::Facts;
using expect::FaultState;

struct Touched {
  std::uint32_t node{};
  std::size_t piece{};
};

std::vector<Touched> touch_all(const RandomBoard& board, const expect::Board& loaded,
                               const std::vector<Fault>& faults) {
  const Network network(board, faults);
  std::vector<Touched> out;
  for (std::size_t k = 0; k < loaded.expectation.points.size(); ++k) {
    const Position p = loaded.expectation.points[k].at;
    for (const Side side : {Side::top, Side::bottom}) {
      const std::uint32_t node =
          loaded.faults.node_of(PointId{static_cast<std::uint32_t>(k)}, side);
      if (node == expect::Wiring::kNone) continue;
      const auto piece =
          touched(board, network, {static_cast<double>(p.x) / 1e6, static_cast<double>(p.y) / 1e6},
                  side == Side::bottom ? 1 : 0);
      if (piece) out.push_back({node, *piece});
    }
  }
  return out;
}

Facts facts_of(const std::vector<Touched>& touches) {
  Facts facts;
  for (std::size_t k = 0; k < touches.size(); ++k) {
    facts.touched.push_back(touches[k].node);
    for (std::size_t m = 0; m < k; ++m) {
      auto& list = touches[k].piece == touches[m].piece ? facts.one_piece : facts.two_pieces;
      list.push_back({touches[m].node, touches[k].node});
    }
  }
  return facts;
}

bool read_alike(const std::vector<Touched>& a, const std::vector<Touched>& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t k = 0; k < a.size(); ++k) {
    for (std::size_t m = 0; m < k; ++m) {
      if ((a[k].piece == a[m].piece) != (b[k].piece == b[m].piece)) return false;
    }
  }
  return true;
}

// Oracle: the board's own graph. What reads like a good board and is bad, must be named.
TEST(RandomBoards, WhatHidesFromEveryReadingIsNamed) {
  std::size_t bad = 0, hidden = 0, unnamed = 0, boards = 0, left_open = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    const test::TempDir folder;
    const RandomBoard board = make_board(seed);
    write_board(board, folder.path());
    Diagnostics notes;
    const auto file = formats::read_board_file(folder.path() / "board.yaml");
    ASSERT_TRUE(file) << seed << ": " << file.problem().message;
    const auto loaded = expect::load_board(*file, notes);
    ASSERT_TRUE(loaded) << seed << ": " << loaded.problem().message;
    const auto& list = loaded.value()->faults;
    const auto right = touch_all(board, *loaded.value(), {});
    const auto derived = expect::derive(list.wiring, facts_of(right));
    const auto open = std::ranges::count(derived.state, FaultState::cannot_tell);
    EXPECT_EQ(std::ranges::count(derived.state, FaultState::found), 0) << seed;
    ++boards;
    left_open += open > 0 ? 1U : 0U;
    if (open > 0) {
      std::cout << seed << " [" << name(board.stage) << "] cannot tell:";
      for (std::size_t e = 0; e < list.entries.size(); ++e) {
        const auto& entry = list.entries[e];
        if (derived.state[e] != FaultState::cannot_tell) continue;
        std::cout << " " << expect::name(entry.kind) << " at "
                  << static_cast<double>(entry.at.x) / 1e6 << ","
                  << static_cast<double>(entry.at.y) / 1e6 << " L" << index(entry.layer) + 1;
      }
      std::cout << "\n";
    }
    for (std::uint64_t set = 0; set < 100; ++set) {
      const std::vector<Fault> faults = faults_of(board, set);
      const Verdict verdict = truth_of(board, faults);
      if (verdict.truth != Truth::bad) continue;
      ++bad;
      if (!read_alike(right, touch_all(board, *loaded.value(), faults))) continue;
      ++hidden;
      if (open > 0) continue;
      ++unnamed;
      std::cout << seed << " set " << set << " hides:";
      for (const Fault& f : faults) std::cout << " " << in_words(board, f) << ";";
      std::cout << " (" << verdict.why << ")\n";
    }
  }
  std::cout << boards << " boards, of " << left_open << " something cannot be told; " << bad
            << " sets of harmful faults, " << hidden << " read like a good board, " << unnamed
            << " of these where everything was excluded\n";
  EXPECT_EQ(unnamed + left_open, 0U);
}

}  // namespace
}  // namespace isthmus::random_boards
