// SPDX-License-Identifier: Apache-2.0
// A little board taken as far as its conductors.
#pragma once

#include <memory>

#include "isthmus/expect/board.hpp"
#include "tests/expect/little_board.hpp"

namespace isthmus::test {

inline std::unique_ptr<expect::Board> whole(LittleBoard little) {
  auto board = std::make_unique<expect::Board>();
  board->copper = std::move(copper::extract_copper(little.design)).value();
  board->gaps = copper::find_gaps(board->copper, little.design.board.limits.window);
  board->conductors = copper::trace_conductors(little.design, board->copper);
  board->expectation = std::move(expect::expect_board(little.design, board->copper, board->gaps,
                                                      little.notes, &board->conductors))
                           .value();
  board->design = std::move(little.design);
  board->faults = expect::list_possible_faults(*board);
  return board;
}
inline PointId point(const expect::Board& b, const std::string& id) {
  return std::move(expect::find_point(b.expectation, id, std::nullopt)).value();
}
inline std::vector<PointId> points(const expect::Board& b, const std::vector<std::string>& names) {
  std::vector<PointId> out;
  for (const auto& n : names) out.push_back(point(b, n));
  return out;
}
inline double mm_to_path(const std::vector<Position>& path, Position p) {
  double best = distance_nm(path[0], p);
  for (std::size_t i = 1; i < path.size(); ++i) {
    best = std::min(best, closest(p, Segment{path[i - 1], path[i]}).distance_nm);
  }
  return best * 1e-6;
}

}  // namespace isthmus::test
