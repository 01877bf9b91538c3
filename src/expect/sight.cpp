// SPDX-License-Identifier: Apache-2.0
#include "expect/sight.hpp"

#include <algorithm>

#include "isthmus/base/ensure.hpp"

namespace isthmus::expect {
namespace {

constexpr std::size_t kLooks = 12;  // nearest nodes tried for one in sight

}  // namespace

bool sees(const copper::Island& island, Position from, Position to) {
  const Segment way{from, to};
  const Box box{{std::min(from.x, to.x), std::min(from.y, to.y)},
                {std::max(from.x, to.x), std::max(from.y, to.y)}};
  const auto blocked_by = [&](const Contour& c) {
    for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++) {
      if (std::max(c[i].x, c[j].x) < box.lo.x || std::min(c[i].x, c[j].x) > box.hi.x ||
          std::max(c[i].y, c[j].y) < box.lo.y || std::min(c[i].y, c[j].y) > box.hi.y) {
        continue;
      }
      if (crosses_or_touches(way, {c[j], c[i]})) return true;
    }
    return false;
  };
  for (std::size_t k = 0; k < island.pieces(); ++k) {
    if (blocked_by(island.piece(k).outer)) return false;
    for (const Contour& h : island.piece(k).holes) {
      if (blocked_by(h)) return false;
    }
  }
  return true;
}

std::size_t nearest_in_sight(const copper::Copper& copper, const copper::ConductorGraph& graph,
                             IslandId island, Position p) {
  const auto [first, last] = graph.of_island.at(index(island));
  ENSURE(first < last);
  std::vector<std::pair<double, std::size_t>> near;
  for (std::size_t n = first; n < last; ++n)
    near.emplace_back(distance_nm(graph.nodes[n].at, p), n);
  const std::size_t looks = std::min(kLooks, near.size());
  std::partial_sort(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(looks), near.end());
  for (std::size_t k = 0; k < looks; ++k) {
    if (sees(copper.island(island), p, graph.nodes[near[k].second].at)) return near[k].second;
  }
  return near[0].second;
}

}  // namespace isthmus::expect
