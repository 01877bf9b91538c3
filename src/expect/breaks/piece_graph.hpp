// SPDX-License-Identifier: Apache-2.0
// The copper, joins and links of one group as a graph.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "isthmus/expect/board.hpp"

namespace isthmus::expect {

struct PieceEdge {
  enum class Kind { copper, foot, link } kind{Kind::copper};
  std::size_t a{}, b{};     // nodes of the piece; a foot's `a` is the join
  std::size_t of{};         // branch, join or link
  double squares{};         // way
  std::int64_t strength{};  // what a cut through it costs: nm of copper width
  [[nodiscard]] std::size_t other(std::size_t node) const { return a == node ? b : a; }
};

class PieceGraph {
 public:
  PieceGraph(const Board& board, GroupId group);

  [[nodiscard]] std::size_t size() const { return place.size(); }
  // The nodes a probe touches: the join itself when the point is joined and no side is told.
  [[nodiscard]] std::vector<std::size_t> nodes_of(const Touch& touch) const;

  const Board& board;
  std::vector<Position> place;  // by node
  std::vector<PieceEdge> edges;
  std::vector<std::vector<std::size_t>> at_node;  // edges by node

 private:
  void add(PieceEdge edge);
  [[nodiscard]] std::size_t nearest_in_sight(IslandId island, Position p) const;

  std::vector<std::pair<IslandId, std::size_t>> first_of_;      // island, its first node; ascending
  std::vector<std::pair<std::size_t, std::size_t>> join_node_;  // join, its node; ascending
};

// A missing or dry joint is the likeliest fault of a board joined by hand: as likely as a break
// somewhere along 200 squares of track (4 cm at 0.2 mm). Common practice, no source.
inline constexpr double kJoinWeight = 200;

// Top, bottom, or both for an inner layer.
inline Side side_of(LayerId layer, std::size_t layers) {
  if (index(layer) == 0) return Side::top;
  return index(layer) + 1 == layers ? Side::bottom : Side::both;
}

}  // namespace isthmus::expect
