// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/raster.hpp"

#include <algorithm>
#include <tuple>

#include "tests/audit/drilled.hpp"

namespace isthmus::audit {
namespace {

void make_runs(Raster& r) {
  r.first_run.resize(r.copper.size());
  for (std::size_t layer = 0; layer < r.copper.size(); ++layer) {
    auto& first = r.first_run[layer];
    for (std::int32_t y = 0; y < r.grid.height; ++y) {
      first.push_back(static_cast<std::uint32_t>(r.runs.size()));
      if (r.copper[layer].empty()) continue;
      const std::uint8_t* row = &r.copper[layer][r.grid.at(0, y)];
      for (std::int32_t x = 0; x < r.grid.width; ++x) {
        if (!row[x]) continue;
        const std::int32_t x0 = x;
        while (x + 1 < r.grid.width && row[x + 1]) ++x;
        r.runs.push_back({static_cast<std::int32_t>(layer), y, x0, x});
      }
    }
    first.push_back(static_cast<std::uint32_t>(r.runs.size()));
  }
}

// Calls `f` for every two runs of rows y and y + 1 that share a column.
template <class F>
void overlaps(const Raster& r, F&& f) {
  for (const auto& first : r.first_run) {
    for (std::size_t y = 0; y + 2 < first.size(); ++y) {
      std::uint32_t a = first[y], b = first[y + 1];
      while (a < first[y + 1] && b < first[y + 2]) {
        if (r.runs[a].x0 <= r.runs[b].x1 && r.runs[b].x0 <= r.runs[a].x1) f(a, b);
        if (r.runs[a].x1 < r.runs[b].x1)
          ++a;
        else
          ++b;
      }
    }
  }
}

void make_neighbours(Raster& r) {
  std::vector<std::uint32_t> count(r.runs.size() + 1, 0);
  overlaps(r, [&](std::uint32_t a, std::uint32_t b) { ++count[a + 1], ++count[b + 1]; });
  for (std::size_t i = 1; i < count.size(); ++i) count[i] += count[i - 1];
  r.neighbour_begin = count;
  r.neighbours.resize(count.back());
  overlaps(r, [&](std::uint32_t a, std::uint32_t b) {
    r.neighbours[count[a]++] = b;
    r.neighbours[count[b]++] = a;
  });
}

void index_metals(Raster& r) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> feet;
  for (std::size_t m = 0; m < r.metals.size(); ++m) {
    for (const Span& s : r.metals[m].feet) feet.push_back({s.run, static_cast<std::uint32_t>(m)});
  }
  std::ranges::sort(feet);
  feet.erase(std::unique(feet.begin(), feet.end()), feet.end());
  r.metal_begin.assign(r.runs.size() + 1, 0);
  for (const auto& [run, metal] : feet) ++r.metal_begin[run + 1], r.metals_of.push_back(metal);
  for (std::size_t i = 1; i < r.metal_begin.size(); ++i) r.metal_begin[i] += r.metal_begin[i - 1];
}

void flood_from(const Raster& r, Node seed, Label label, bool with_metals,
                std::vector<Label>& labels) {
  std::vector<Node> stack{seed};
  labels[seed] = label;
  const auto visit = [&](Node n) {
    if (labels[n] == kNone) labels[n] = label, stack.push_back(n);
  };
  while (!stack.empty()) {
    const Node n = stack.back();
    stack.pop_back();
    if (n >= r.runs.size()) {
      for (const Span& s : r.metals[n - r.runs.size()].feet) visit(s.run);
      continue;
    }
    for (auto i = r.neighbour_begin[n]; i < r.neighbour_begin[n + 1]; ++i) visit(r.neighbours[i]);
    if (!with_metals) continue;
    for (auto i = r.metal_begin[n]; i < r.metal_begin[n + 1]; ++i)
      visit(r.metal_node(r.metals_of[i]));
  }
}

std::size_t flood(const Raster& r, bool with_metals, std::vector<Label>& labels) {
  const std::size_t nodes = with_metals ? r.nodes() : r.runs.size();
  labels.assign(nodes, kNone);
  Label next = 0;
  for (std::size_t n = 0; n < nodes; ++n) {
    if (labels[n] == kNone) flood_from(r, static_cast<Node>(n), next++, with_metals, labels);
  }
  return next;
}

}  // namespace

std::uint32_t Raster::run_at(Cell c) const {
  if (!grid.holds(c.x, c.y)) return kNone;
  const auto& first = first_run[static_cast<std::size_t>(c.layer)];
  const auto row = static_cast<std::size_t>(c.y);
  const auto begin = runs.begin() + first[row], end = runs.begin() + first[row + 1];
  const auto it = std::lower_bound(begin, end, c.x, [](const Run& r, int x) { return r.x1 < x; });
  if (it == end || it->x0 > c.x) return kNone;
  return static_cast<std::uint32_t>(it - runs.begin());
}

Label Raster::label_at(Cell c) const {
  const std::uint32_t run = run_at(c);
  return run == kNone ? kNone : label[run];
}

std::optional<Cell> Raster::nearest(std::int32_t layer, Position p, double reach_nm) const {
  if (layer < 0 || copper[static_cast<std::size_t>(layer)].empty()) return std::nullopt;
  std::optional<Cell> best;
  double best_nm = reach_nm;
  for (const Cell& c : cells_near(grid, layer, {p, p}, reach_nm)) {
    if (!copper[static_cast<std::size_t>(layer)][grid.at(c.x, c.y)]) continue;
    const double d = distance_nm(grid.middle(c.x, c.y), p);
    if (best && d >= best_nm) continue;
    best = c, best_nm = d;
  }
  return best;
}

std::vector<Span> spans_of(const Raster& raster, std::vector<Cell> cells) {
  std::ranges::sort(cells, [](const Cell& a, const Cell& b) {
    return std::tie(a.layer, a.y, a.x) < std::tie(b.layer, b.y, b.x);
  });
  std::vector<Span> spans;
  for (const Cell& c : cells) {
    const std::uint32_t run = raster.run_at(c);
    if (run == kNone) continue;
    if (!spans.empty() && spans.back().run == run && spans.back().x1 + 1 >= c.x)
      spans.back().x1 = c.x;
    else
      spans.push_back({run, c.x, c.x});
  }
  return spans;
}

Raster make_raster(const formats::Design& design, Nanometres cell) {
  Raster r;
  r.grid = grid_for(design, cell);
  r.stage = design.board.stage;
  const std::size_t layers = design.copper.size();
  for (std::size_t i = 0; i < layers; ++i) {
    const bool etched = is_etched(r.stage, static_cast<LayerId>(i), layers);
    r.copper.push_back(etched ? painted(r.grid, design.copper[i]) : Bitmap{});
  }
  r.holes = find_drilled(design);
  for (const Drilled& hole : r.holes) drill(r.grid, hole, r.copper);
  make_runs(r);
  make_neighbours(r);
  find_rims(design, r);
  put_metal_in(design, r);
  index_metals(r);
  r.labels = flood(r, true, r.label);
  r.islands = flood(r, false, r.island);
  return r;
}

}  // namespace isthmus::audit
