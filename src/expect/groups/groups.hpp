// SPDX-License-Identifier: Apache-2.0
// Which copper hangs together, and the groups of points on it.
#pragma once

#include <vector>

#include "expect/points/points.hpp"

namespace isthmus::expect {

// Connected copper: a piece number by island, in order of the pieces' lowest islands.
struct Pieces {
  std::vector<std::size_t> of_island;
  std::size_t count{};
  [[nodiscard]] std::size_t of(IslandId i) const { return of_island[index(i)]; }
};

// Pieces at this stage: conducting joins and links count.
Pieces pieces_at_stage(const Ground& ground, const std::vector<Join>& joins,
                       const std::vector<Link>& links);
// Pieces as they may become: deferred joins too; before holes are joined, every hole.
Pieces pieces_promised(const Ground& ground, const std::vector<Join>& joins,
                       const std::vector<Link>& links, const std::vector<Pad>& pads);

// The piece of a point, through its first island; nothing without copper.
std::optional<std::size_t> piece_of(const Pieces& pieces, const Point& point);

struct Grouping {
  std::vector<Group> groups;
  std::vector<std::string> keys;    // net identity by group
  std::vector<std::size_t> pieces;  // piece by group
};
// Fills Point::group. With `each_piece_a_net` nets are named by the first point of the piece.
Grouping group_points(const Pieces& pieces, StagePoints& stage, bool each_piece_a_net);

// Pads are required; a via always while nothing is joined, later only at an end: when at most one
// of its islands has another point.
void mark_required(Stage stage, std::vector<Point>& points, std::size_t islands);

}  // namespace isthmus::expect
