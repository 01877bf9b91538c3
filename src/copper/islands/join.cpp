// SPDX-License-Identifier: Apache-2.0
#include "copper/islands/join.hpp"

#include <algorithm>
#include <optional>

#include "copper/index/boxes.hpp"
#include "copper/index/edges.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

constexpr std::size_t kFewEdges = 48;  // fewer are compared one by one

// A piece with what makes questions about it quick; the grid is made when first needed.
class Piece {
 public:
  explicit Piece(const Polygon& polygon)
      : polygon_(&polygon), box_(isthmus::box_of(polygon.outer)) {
    append_edges(polygon, edges_);
  }
  [[nodiscard]] const Box& box() const { return box_; }
  [[nodiscard]] const std::vector<Segment>& edges() const { return edges_; }
  [[nodiscard]] Position any_vertex() const { return polygon_->outer.front(); }

  bool touched_by(const Segment& s) {
    const Box box = box_of(s);
    if (!box_.overlaps(box)) return false;
    const auto apart = [&](const Segment& e) {
      return !box_of(e).overlaps(box) || !crosses_or_touches(s, e);
    };
    if (edges_.size() <= kFewEdges) return !std::all_of(edges_.begin(), edges_.end(), apart);
    if (!grid_) grid_.emplace(edges_, cell());
    return !grid_->for_each_along(s, [&](std::uint32_t i) { return apart(edges_[i]); });
  }
  bool covers(Position p) {
    if (!box_.contains(p)) return false;
    if (edges_.size() <= kFewEdges) return isthmus::locate(p, *polygon_) != Where::outside;
    if (!locator_) locator_.emplace(*polygon_);
    return locator_->locate(p) != Where::outside;
  }

 private:
  // About one edge a cell for an outline that fills its box evenly.
  [[nodiscard]] std::int64_t cell() const {
    const std::int64_t side = std::max(box_.hi.x - box_.lo.x, box_.hi.y - box_.lo.y);
    std::int64_t cells = 1;
    while (cells * cells < static_cast<std::int64_t>(edges_.size())) ++cells;
    return side / cells + 1;
  }

  const Polygon* polygon_;
  Box box_;
  std::vector<Segment> edges_;
  std::optional<SegmentGrid> grid_;
  std::optional<PolygonLocator> locator_;
};

bool touch(Piece& a, Piece& b) {
  Piece& small = a.edges().size() <= b.edges().size() ? a : b;
  Piece& large = &small == &a ? b : a;
  for (const Segment& s : small.edges()) {
    if (large.touched_by(s)) return true;
  }
  return large.covers(small.any_vertex()) || small.covers(large.any_vertex());
}

}  // namespace

std::vector<std::vector<std::size_t>> join_pieces(const Polygons& polygons) {
  std::vector<Piece> pieces;
  std::vector<Box> boxes;
  pieces.reserve(polygons.size());
  for (const Polygon& polygon : polygons) {
    pieces.emplace_back(polygon);
    boxes.push_back(pieces.back().box());
  }
  const BoxIndex near(boxes);
  Sets sets(pieces.size());
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    for (std::size_t j : near.overlapping(boxes[i])) {
      if (j <= i || sets.one(i, j)) continue;
      if (touch(pieces[i], pieces[j])) sets.unite(i, j);
    }
  }
  return sets.groups();
}

}  // namespace isthmus::copper
