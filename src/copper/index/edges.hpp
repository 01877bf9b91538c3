// SPDX-License-Identifier: Apache-2.0
// Finding edges near a place, and point location in polygons of many edges. Both answer exactly.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::copper {

Box box_of(const Segment& s);

// Appends the edges of all contours, outer first, each contour in its own order.
void append_edges(const Polygon& polygon, std::vector<Segment>& edges);

// A uniform grid over segments. A segment lies in every cell it passes through, so that a query may
// visit it more than once.
class SegmentGrid {
 public:
  SegmentGrid() = default;
  SegmentGrid(std::vector<Segment> segments, std::int64_t cell);
  [[nodiscard]] const std::vector<Segment>& segments() const { return segments_; }
  [[nodiscard]] std::int64_t cell() const { return cell_; }

  // Calls visit(segment index) for every segment in cells that overlap `box`, until visit returns
  // false.
  template <class Visit>
  bool for_each(const Box& box, Visit visit) const {
    if (segments_.empty() || !extent_.overlaps(box)) return true;
    const std::int64_t x0 = column(box.lo.x), x1 = column(box.hi.x);
    const std::int64_t y0 = row(box.lo.y), y1 = row(box.hi.y);
    for (std::int64_t y = y0; y <= y1; ++y) {
      const std::size_t first = start_[static_cast<std::size_t>(y * columns_ + x0)];
      const std::size_t last = start_[static_cast<std::size_t>(y * columns_ + x1 + 1)];
      for (std::size_t i = first; i < last; ++i) {
        if (!visit(items_[i])) return false;
      }
    }
    return true;
  }
  // The same for every segment in cells along `s`.
  template <class Visit>
  bool for_each_along(const Segment& s, Visit visit) const {
    if (segments_.empty() || !extent_.overlaps(box_of(s))) return true;
    const std::int64_t y0 = row(std::min(s.a.y, s.b.y)), y1 = row(std::max(s.a.y, s.b.y));
    for (std::int64_t y = y0; y <= y1; ++y) {
      const Span span = span_in_row(s, y);
      const std::size_t first = start_[static_cast<std::size_t>(y * columns_ + span.first)];
      const std::size_t last = start_[static_cast<std::size_t>(y * columns_ + span.last + 1)];
      for (std::size_t i = first; i < last; ++i) {
        if (!visit(items_[i])) return false;
      }
    }
    return true;
  }

 private:
  struct Span {
    std::int64_t first, last;
  };
  [[nodiscard]] std::int64_t column(std::int64_t x) const;
  [[nodiscard]] std::int64_t row(std::int64_t y) const;
  // Columns that `s` may touch within a row; a superset by at most one cell on each side.
  [[nodiscard]] Span span_in_row(const Segment& s, std::int64_t y) const;

  std::vector<Segment> segments_;
  Box extent_;
  std::int64_t cell_{1}, columns_{}, rows_{};
  std::vector<std::size_t> start_;  // by cell, row by row; one more than there are cells
  std::vector<std::uint32_t> items_;
};

// Point location in one polygon: edges by rows, so that a question looks at one row only.
class PolygonLocator {
 public:
  explicit PolygonLocator(const Polygon& polygon);
  [[nodiscard]] Where locate(Position p) const;
  [[nodiscard]] const Box& box() const { return box_; }

 private:
  Box box_;
  std::int64_t height_{1};
  std::vector<std::size_t> start_;
  std::vector<Segment> edges_;  // by row, an edge in every row it reaches
};

}  // namespace isthmus::copper
