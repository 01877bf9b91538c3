// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/raster.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::hostsim {
namespace {

constexpr int kLines = 5;  // scanlines a cell
constexpr double kMaxCells = 8e6;
constexpr int kMargin = 12;  // empty cells around the copper

struct Crossing {
  int line;
  float x;
};

// Where the contour's edges meet the scanlines, in cells.
void add_crossings(const Grid& grid, const Contour& contour, std::vector<Crossing>& crossings) {
  for (std::size_t i = 0; i < contour.size(); ++i) {
    Position a = contour[i], b = contour[(i + 1) % contour.size()];
    if (a.y > b.y) std::swap(a, b);
    const double y0 = grid.cell_y(a.y) * kLines - 0.5, y1 = grid.cell_y(b.y) * kLines - 0.5;
    const double x0 = grid.cell_x(a.x), x1 = grid.cell_x(b.x);
    const int first = std::max(0, static_cast<int>(std::ceil(y0)));
    const int end = std::min(grid.height * kLines, static_cast<int>(std::ceil(y1)));  // half-open
    for (int line = first; line < end; ++line) {
      const double x = x0 + (x1 - x0) * (line - y0) / (y1 - y0);
      crossings.push_back({line, static_cast<float>(x)});
    }
  }
}

// Covered length of each cell of one row, summed over its scanlines.
class RowCoverage {
 public:
  explicit RowCoverage(int width)
      : sum_(static_cast<std::size_t>(width) + 2, 0.0F),
        step_(static_cast<std::size_t>(width) + 2, 0.0F) {}

  void add(float from, float to, int width) {
    from = std::clamp(from, 0.0F, static_cast<float>(width));
    to = std::clamp(to, 0.0F, static_cast<float>(width));
    if (to <= from) return;
    const auto a = static_cast<std::size_t>(from), b = static_cast<std::size_t>(to);
    lo_ = std::min(lo_, a);
    hi_ = std::max(hi_, b);
    if (a == b) {
      sum_[a] += to - from;
      return;
    }
    sum_[a] += static_cast<float>(a + 1) - from;
    sum_[b] += to - static_cast<float>(b);
    step_[a + 1] += 1;
    step_[b] -= 1;
  }

  // Calls use(cell, share 0..255) for the covered cells and forgets them.
  template <class Use>
  void take(int width, const Use& use) {
    float full = 0;
    for (std::size_t i = lo_; i <= hi_ && lo_ <= hi_; ++i) {
      full += step_[i];
      const float covered = (full + sum_[i]) * (255.0F / kLines);
      if (covered > 0.5F && i < static_cast<std::size_t>(width)) {
        use(i, static_cast<std::uint8_t>(std::min(255.0F, std::round(covered))));
      }
      sum_[i] = step_[i] = 0;
    }
    lo_ = SIZE_MAX;
    hi_ = 0;
  }

 private:
  std::vector<float> sum_, step_;
  std::size_t lo_{SIZE_MAX}, hi_{0};
};

// For a cell on one side of an edge with a neighbour on the other: how far the edge lies from its
// centre, in cells, by their covered shares.
double edge_beyond_centre(double own_share, double other_share) {
  return 0.5 - own_share + 1 - other_share;
}

struct EdgeCell {
  int x, y;
  double beyond;  // the edge, from the centre towards the other kind
};

// Cells of kind `copper` that have a 4-neighbour of the other kind.
std::vector<EdgeCell> edge_cells(const Grid& grid, const Cells& coverage, bool copper) {
  std::vector<EdgeCell> cells;
  const auto share = [&](int x, int y) {
    const double s = coverage[grid.index(x, y)] / 255.0;
    return copper ? 1 - s : s;  // share of the other kind
  };
  for (int y = 1; y + 1 < grid.height; ++y) {
    for (int x = 1; x + 1 < grid.width; ++x) {
      if ((coverage[grid.index(x, y)] >= 128) != copper) continue;
      const double other =
          std::max({share(x - 1, y), share(x + 1, y), share(x, y - 1), share(x, y + 1)});
      if (other > 0.5) cells.push_back({x, y, edge_beyond_centre(share(x, y), other)});
    }
  }
  return cells;
}

}  // namespace

Position Grid::centre(int x, int y) const {
  return {origin.x + std::llround((x + 0.5) * cell_nm),
          origin.y + std::llround((y + 0.5) * cell_nm)};
}

Grid make_grid(const Box& box, double cell_nm) {
  Grid grid;
  grid.cell_nm = cell_nm;
  const auto w = static_cast<double>(box.hi.x - box.lo.x),
             h = static_cast<double>(box.hi.y - box.lo.y);
  while ((w / grid.cell_nm + 2 * kMargin) * (h / grid.cell_nm + 2 * kMargin) > kMaxCells)
    grid.cell_nm *= 1.05;
  grid.cell_nm = std::round(grid.cell_nm);
  const auto margin = static_cast<std::int64_t>(grid.cell_nm) * kMargin;
  grid.origin = {box.lo.x - margin, box.lo.y - margin};
  grid.width = static_cast<int>(std::ceil(w / grid.cell_nm)) + 2 * kMargin;
  grid.height = static_cast<int>(std::ceil(h / grid.cell_nm)) + 2 * kMargin;
  return grid;
}

void paint(const Grid& grid, const formats::Object& object, Cells& coverage) {
  std::vector<Crossing> crossings;
  for (const Polygon& polygon : object.shape) {
    add_crossings(grid, polygon.outer, crossings);
    for (const Contour& hole : polygon.holes) add_crossings(grid, hole, crossings);
  }
  std::sort(crossings.begin(), crossings.end(), [](const Crossing& a, const Crossing& b) {
    return a.line != b.line ? a.line < b.line : a.x < b.x;
  });
  RowCoverage row(grid.width);
  const auto put = [&](int y) {
    row.take(grid.width, [&](std::size_t x, std::uint8_t share) {
      std::uint8_t& cell = coverage[grid.index(static_cast<int>(x), y)];
      cell = object.dark ? std::max(cell, share)
                         : std::min(cell, static_cast<std::uint8_t>(255 - share));
    });
  };
  int y = crossings.empty() ? 0 : crossings.front().line / kLines;
  for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
    if (crossings[i].line / kLines != y) {
      put(y);
      y = crossings[i].line / kLines;
    }
    row.add(crossings[i].x, crossings[i + 1].x, grid.width);
  }
  put(y);
}

void etch(const Grid& grid, const std::function<double(int, int)>& undercut_cells,
          Cells& coverage) {
  Cells copper(coverage.size());
  for (std::size_t i = 0; i < coverage.size(); ++i) copper[i] = coverage[i] >= 128 ? 1 : 0;
  // From the bare side inwards (undercut), then from the copper side outwards (under-etch).
  for (const bool outwards : {false, true}) {
    for (const EdgeCell& edge : edge_cells(grid, coverage, outwards)) {
      const double take = undercut_cells(edge.x, edge.y) * (outwards ? -1 : 1);
      if (take <= 0) continue;
      const double reach = take + edge.beyond;  // from this cell's centre
      const int r = static_cast<int>(std::ceil(reach));
      for (int y = std::max(0, edge.y - r); y <= std::min(grid.height - 1, edge.y + r); ++y) {
        for (int x = std::max(0, edge.x - r); x <= std::min(grid.width - 1, edge.x + r); ++x) {
          const double d2 = (x - edge.x) * (x - edge.x) + (y - edge.y) * (y - edge.y);
          if (d2 < reach * reach) copper[grid.index(x, y)] = outwards ? 1 : 0;
        }
      }
    }
  }
  coverage = std::move(copper);
}

double distance_to(const CellSegment& s, double x, double y) {
  const double dx = s.x1 - s.x0, dy = s.y1 - s.y0;
  const double length2 = dx * dx + dy * dy;
  const double t =
      length2 > 0 ? std::clamp(((x - s.x0) * dx + (y - s.y0) * dy) / length2, 0.0, 1.0) : 0.0;
  return std::hypot(x - s.x0 - t * dx, y - s.y0 - t * dy);
}

void for_cells_near(const Grid& grid, const CellSegment& s, double radius,
                    const std::function<void(int, int)>& at) {
  const int x0 = std::max(0, static_cast<int>(std::floor(std::min(s.x0, s.x1) - radius)));
  const int x1 =
      std::min(grid.width - 1, static_cast<int>(std::ceil(std::max(s.x0, s.x1) + radius)));
  const int y0 = std::max(0, static_cast<int>(std::floor(std::min(s.y0, s.y1) - radius)));
  const int y1 =
      std::min(grid.height - 1, static_cast<int>(std::ceil(std::max(s.y0, s.y1) + radius)));
  for (int y = y0; y <= y1; ++y) {
    for (int x = x0; x <= x1; ++x) {
      if (distance_to(s, x + 0.5, y + 0.5) <= radius) at(x, y);
    }
  }
}

}  // namespace isthmus::hostsim
