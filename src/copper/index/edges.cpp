// SPDX-License-Identifier: Apache-2.0
#include "copper/index/edges.hpp"

#include <cmath>

namespace isthmus::copper {
namespace {

constexpr std::int64_t kMostCells =
    1024;  // a side: bounds the memory of a grid over a sparse layer

void append_edges(const Contour& contour, std::vector<Segment>& edges) {
  for (std::size_t i = 0; i < contour.size(); ++i) {
    edges.push_back({contour[i], contour[(i + 1) % contour.size()]});
  }
}

}  // namespace

Box box_of(const Segment& s) {
  return {{std::min(s.a.x, s.b.x), std::min(s.a.y, s.b.y)},
          {std::max(s.a.x, s.b.x), std::max(s.a.y, s.b.y)}};
}

void append_edges(const Polygon& polygon, std::vector<Segment>& edges) {
  append_edges(polygon.outer, edges);
  for (const Contour& hole : polygon.holes) append_edges(hole, edges);
}

SegmentGrid::SegmentGrid(std::vector<Segment> segments, std::int64_t cell)
    : segments_(std::move(segments)) {
  for (const Segment& s : segments_) {
    extent_.add(s.a);
    extent_.add(s.b);
  }
  if (segments_.empty()) return;
  const std::int64_t wide = extent_.hi.x - extent_.lo.x, high = extent_.hi.y - extent_.lo.y;
  cell_ = std::max({cell, std::int64_t{1}, wide / kMostCells + 1, high / kMostCells + 1});
  columns_ = wide / cell_ + 1;
  rows_ = high / cell_ + 1;
  start_.assign(static_cast<std::size_t>(columns_ * rows_) + 1, 0);
  const auto each_cell = [this](std::size_t i, auto&& act) {
    const Segment& s = segments_[i];
    const std::int64_t y0 = row(std::min(s.a.y, s.b.y)), y1 = row(std::max(s.a.y, s.b.y));
    for (std::int64_t y = y0; y <= y1; ++y) {
      const Span span = span_in_row(s, y);
      for (std::int64_t x = span.first; x <= span.last; ++x) {
        act(static_cast<std::size_t>(y * columns_ + x));
      }
    }
  };
  for (std::size_t i = 0; i < segments_.size(); ++i) {
    each_cell(i, [this](std::size_t c) { ++start_[c + 1]; });
  }
  for (std::size_t c = 1; c < start_.size(); ++c) start_[c] += start_[c - 1];
  items_.resize(start_.back());
  std::vector<std::size_t> next(start_.begin(), start_.end() - 1);
  for (std::size_t i = 0; i < segments_.size(); ++i) {
    each_cell(i, [&](std::size_t c) { items_[next[c]++] = static_cast<std::uint32_t>(i); });
  }
}

std::int64_t SegmentGrid::column(std::int64_t x) const {
  return std::clamp((x - extent_.lo.x) / cell_, std::int64_t{0}, columns_ - 1);
}

std::int64_t SegmentGrid::row(std::int64_t y) const {
  return std::clamp((y - extent_.lo.y) / cell_, std::int64_t{0}, rows_ - 1);
}

SegmentGrid::Span SegmentGrid::span_in_row(const Segment& s, std::int64_t y) const {
  const std::int64_t left = std::min(s.a.x, s.b.x), right = std::max(s.a.x, s.b.x);
  const std::int64_t dy = s.b.y - s.a.y;
  if (dy == 0 || right - left <= cell_) return {column(left), column(right)};
  const double slope = static_cast<double>(s.b.x - s.a.x) / static_cast<double>(dy);
  const auto x_at = [&](std::int64_t at) {
    return s.a.x + std::llround(slope * static_cast<double>(at - s.a.y));
  };
  const std::int64_t low = extent_.lo.y + y * cell_;
  const std::int64_t from = x_at(low), to = x_at(low + cell_);
  constexpr std::int64_t kRounding = 2;  // llround and the double product: under 1 nm each
  return {column(std::max(left, std::min(from, to) - kRounding)),
          column(std::min(right, std::max(from, to) + kRounding))};
}

PolygonLocator::PolygonLocator(const Polygon& polygon) : box_(isthmus::box_of(polygon.outer)) {
  std::vector<Segment> edges;
  append_edges(polygon, edges);
  const std::int64_t rows = std::max<std::int64_t>(1, static_cast<std::int64_t>(edges.size()) / 4);
  height_ = (box_.hi.y - box_.lo.y) / rows + 1;
  const auto row = [this](std::int64_t y) {
    return static_cast<std::size_t>((y - box_.lo.y) / height_);
  };
  start_.assign(static_cast<std::size_t>(rows) + 1, 0);
  const auto each_row = [&](const Segment& e, auto&& act) {
    const std::size_t last = row(std::max(e.a.y, e.b.y));
    for (std::size_t r = row(std::min(e.a.y, e.b.y)); r <= last; ++r) act(r);
  };
  for (const Segment& e : edges) each_row(e, [this](std::size_t r) { ++start_[r + 1]; });
  for (std::size_t r = 1; r < start_.size(); ++r) start_[r] += start_[r - 1];
  edges_.resize(start_.back());
  std::vector<std::size_t> next(start_.begin(), start_.end() - 1);
  for (const Segment& e : edges) each_row(e, [&](std::size_t r) { edges_[next[r]++] = e; });
}

Where PolygonLocator::locate(Position p) const {
  if (!box_.contains(p)) return Where::outside;
  const std::size_t row = static_cast<std::size_t>((p.y - box_.lo.y) / height_);
  bool inside = false;
  for (std::size_t i = start_[row]; i < start_[row + 1]; ++i) {
    const Position a = edges_[i].a, b = edges_[i].b;
    if (std::max(a.x, b.x) < p.x || std::min(a.y, b.y) > p.y || std::max(a.y, b.y) < p.y) continue;
    const int side = orientation(a, b, p);
    if (side == 0 && std::min(a.x, b.x) <= p.x) return Where::boundary;
    if ((a.y > p.y) != (b.y > p.y) && (side > 0) == (b.y > a.y)) inside = !inside;
  }
  return inside ? Where::inside : Where::outside;
}

}  // namespace isthmus::copper
