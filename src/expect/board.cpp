// SPDX-License-Identifier: Apache-2.0
#include "isthmus/expect/board.hpp"

#include <algorithm>

#include "expect/groups/pairs.hpp"
#include "expect/holes/hole_gaps.hpp"

namespace isthmus::expect {

Result<std::unique_ptr<Board>> load_board(const formats::BoardFile& file, Diagnostics& notes) {
  auto design = formats::load_design(file, notes);
  if (!design) return design.problem();
  auto board = std::make_unique<Board>();
  board->design = std::move(design).value();
  auto copper = copper::extract_copper(board->design);
  if (!copper) return copper.problem();
  board->copper = std::move(copper).value();
  board->gaps = gaps_at_stage(board->design, board->copper);
  board->conductors = copper::trace_conductors(board->design, board->copper);
  auto expectation =
      expect_board(board->design, board->copper, board->gaps, notes, &board->conductors);
  if (!expectation) return expectation.problem();
  board->expectation = std::move(expectation).value();
  board->faults = list_possible_faults(*board);
  if (auto done = waive_entries(*board, notes); !done) return done.problem();
  board->hash = formats::design_hash(board->design);
  return board;
}

bool may_conduct(const Board& board, GroupId a, GroupId b) {
  const Group &x = board.expectation.group(a), &y = board.expectation.group(b);
  return (x.net == y.net && x.net_full == y.net_full) ||
         Ties(board.design.board.net_ties).tied(x.net, y.net);
}

bool matters(const Board& board, GroupId g) {
  return std::ranges::any_of(board.expectation.group(g).points, [&](PointId p) {
    const Point& point = board.expectation.point(p);
    return point.required && !point.waived;
  });
}

}  // namespace isthmus::expect
