// SPDX-License-Identifier: Apache-2.0
// A coarse grid of places on two layers, and ways through what is free of them.
#pragma once

#include <optional>

#include "tests/random_boards/random.hpp"
#include "tests/random_boards/shapes.hpp"

namespace isthmus::random_boards {

struct Cell {
  int i{}, j{};
  std::size_t layer{};
  bool operator==(const Cell&) const = default;
};

class Grid {
 public:
  Grid(int nx, int ny, double pitch);
  [[nodiscard]] bool inside(Cell c) const;
  [[nodiscard]] bool is_free(Cell c) const { return inside(c) && free_[at(c)]; }
  // Both layers, a block of nx by ny from c on.
  [[nodiscard]] bool is_free(Cell c, int nx, int ny, bool both) const;
  [[nodiscard]] std::size_t node(Cell c) const { return node_[at(c)]; }
  void take(Cell c, std::size_t node);
  [[nodiscard]] Pt place(Cell c) const;
  [[nodiscard]] int nx() const { return nx_; }
  [[nodiscard]] int ny() const { return ny_; }
  // The cheapest way, by costs drawn anew, from one of `from` over free cells into one of `to`.
  // A step between layers is a via: free on the other layer, and `via_at` allows it here.
  template <class ViaAt>
  std::optional<std::vector<Cell>> way(Rng& rng, const std::vector<Cell>& from,
                                       const std::vector<Cell>& to, ViaAt via_at) const;

 private:
  [[nodiscard]] std::size_t at(Cell c) const;
  [[nodiscard]] Cell cell(std::size_t n) const;
  int nx_, ny_;
  double pitch_;
  std::vector<bool> free_;
  std::vector<std::size_t> node_;
};

inline Cell other_side(Cell c) { return {c.i, c.j, 1 - c.layer}; }

}  // namespace isthmus::random_boards

#include <algorithm>
#include <functional>
#include <queue>

namespace isthmus::random_boards {

template <class ViaAt>
std::optional<std::vector<Cell>> Grid::way(Rng& rng, const std::vector<Cell>& from,
                                           const std::vector<Cell>& to, ViaAt via_at) const {
  std::vector<double> cost(free_.size(), -1), step(free_.size());
  std::vector<std::size_t> before(free_.size(), kNone);
  std::vector<bool> target(free_.size());
  for (double& s : step) s = rng.real(1, 2.5);
  for (const Cell& c : to) target[at(c)] = true;
  using Item = std::pair<double, std::size_t>;
  std::priority_queue<Item, std::vector<Item>, std::greater<>> queue;
  for (const Cell& c : from) cost[at(c)] = 0, queue.push({0, at(c)});
  const auto reach = [&](std::size_t n, std::size_t m, double more) {
    const double c = cost[n] + more;
    if (cost[m] >= 0 && cost[m] <= c) return;
    cost[m] = c;
    before[m] = n;
    queue.push({c, m});
  };
  while (!queue.empty()) {
    const auto [c, n] = queue.top();
    queue.pop();
    if (c > cost[n]) continue;
    if (target[n]) {
      std::vector<Cell> path;
      for (std::size_t m = n; m != kNone; m = before[m]) path.push_back(cell(m));
      std::ranges::reverse(path);
      return path;
    }
    const Cell here = cell(n);
    for (const Cell next : {Cell{here.i + 1, here.j, here.layer},
                            {here.i - 1, here.j, here.layer},
                            {here.i, here.j + 1, here.layer},
                            {here.i, here.j - 1, here.layer}}) {
      if (is_free(next) || (inside(next) && target[at(next)])) reach(n, at(next), step[at(next)]);
    }
    if (is_free(other_side(here)) && via_at(here)) reach(n, at(other_side(here)), 6);
  }
  return std::nullopt;
}

}  // namespace isthmus::random_boards
