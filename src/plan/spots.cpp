// SPDX-License-Identifier: Apache-2.0
#include "plan/spots.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <queue>

#include "plan/pads.hpp"

namespace isthmus::plan {
namespace {

bool reaches(Side probes, Side point) { return point == Side::both || point == probes; }

// Pairs closer than `reach`, both ways, of the points listed.
std::vector<std::vector<PointId>> close_pairs(const std::vector<Position>& at,
                                              std::vector<PointId> points, Nanometres reach) {
  std::vector<std::vector<PointId>> close(at.size());
  std::ranges::sort(points, {}, [&](PointId p) { return std::pair(at[index(p)], p); });
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (std::size_t j = i + 1; j < points.size(); ++j) {
      const Position a = at[index(points[i])], b = at[index(points[j])];
      if (b.x - a.x >= reach.value) break;
      if (distance_nm(a, b) >= static_cast<double>(reach.value)) continue;
      close[index(points[i])].push_back(points[j]);
      close[index(points[j])].push_back(points[i]);
    }
  }
  for (auto& list : close) std::ranges::sort(list);
  return close;
}

bool has_hole(const expect::Board& board, const Polygon& pad) {
  return std::ranges::any_of(board.design.holes, [&](const formats::Hole& hole) {
    return locate(hole.from, pad) != Where::outside || locate(hole.to, pad) != Where::outside;
  });
}

Position offset(double angle, double length) {
  return {std::llround(length * std::cos(angle)), std::llround(length * std::sin(angle))};
}

// How far the pad's own copper goes on in that direction.
std::int64_t way(const expect::Board& board, std::size_t layer, const Polygon& pad,
                 const expect::Point& point, double angle) {
  constexpr std::int64_t kStep = 10'000, kMost = 5'000'000;
  const auto& island = layer < point.islands.size() ? point.islands[layer] : std::nullopt;
  std::int64_t reach = 0;
  for (std::int64_t d = kStep; d <= kMost; d += kStep) {
    const Position p = point.at + offset(angle, static_cast<double>(d));
    if (locate(p, pad) == Where::outside) break;
    if (island && locate(p, board.copper.island(*island)) == Where::outside) break;
    reach = d;
  }
  return reach;
}

// The farthest a tip can be moved from the middle, both ways; zero where it cannot.
Position way_along(const expect::Board& board, const Pads& pads, const expect::Point& point,
                   Nanometres tip) {
  const Pad* pad = pads.flash_at(point.at);
  if (!pad || !pad->plain || point.join || has_hole(board, *pad->shape)) return {};
  // Every 15 degrees: pads lie square to the board or to one of its usual slants.
  std::int64_t best = 0;
  double best_angle = 0;
  for (int k = 0; k < 12; ++k) {
    const double angle = k * std::numbers::pi / 12;
    const auto way_to = [&](double a) { return way(board, pads.layer(), *pad->shape, point, a); };
    const std::int64_t reach = std::min(way_to(angle), way_to(angle + std::numbers::pi));
    if (reach > best) best = reach, best_angle = angle;
  }
  // Farther out the rest of the pad would hang behind the tip.
  const auto most = static_cast<double>(std::min(best - tip.value / 2, expect::kPadSpan.value));
  return most > 0 ? offset(best_angle, most) : Position{};
}

// Neighbours get opposite signs where that is possible: +1, -1; 0 without a neighbour.
std::vector<int> alternate(const std::vector<std::vector<PointId>>& close) {
  std::vector<int> sign(close.size(), 0);
  for (std::size_t start = 0; start < close.size(); ++start) {
    if (close[start].empty() || sign[start] != 0) continue;
    sign[start] = 1;
    std::queue<std::size_t> queue({start});
    while (!queue.empty()) {
      const std::size_t at = queue.front();
      queue.pop();
      for (const PointId next : close[at]) {
        if (sign[index(next)] != 0) continue;
        sign[index(next)] = -sign[at];
        queue.push(index(next));
      }
    }
  }
  return sign;
}

}  // namespace

Spots find_spots(const expect::Board& board, Side side, Nanometres tip) {
  const auto& points = board.expectation.points;
  Spots spots;
  std::vector<PointId> here;
  for (std::size_t i = 0; i < points.size(); ++i) {
    spots.at.push_back(points[i].at);
    if (reaches(side, points[i].side) && points[i].group && !points[i].waived)
      here.push_back(PointId{static_cast<std::uint32_t>(i)});
  }
  const auto close = close_pairs(spots.at, here, clearance_of(tip));
  const std::vector<int> sign = alternate(close);
  const Pads pads(board, side);
  for (const PointId p : here) {
    const std::size_t i = index(p);
    if (sign[i] == 0) continue;
    const Position way = way_along(board, pads, points[i], tip);
    spots.at[i] = sign[i] > 0 ? points[i].at + way : points[i].at - way;
  }
  for (const auto& list : close_pairs(spots.at, here, clearance_of(tip))) {
    spots.clashes.emplace_back();
    for (const PointId p : list)
      spots.clashes.back().push_back(SpotId{static_cast<std::uint32_t>(p)});
  }
  for (const expect::Point& p : points) spots.at.push_back(p.at);
  spots.clashes.resize(spots.at.size());
  return spots;
}

}  // namespace isthmus::plan
