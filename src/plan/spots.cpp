// SPDX-License-Identifier: Apache-2.0
#include "plan/spots.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <queue>

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

// The flashed pads of one side.
class Pads {
 public:
  Pads(const expect::Board& board, Side side) : board_(board) {
    if (board.design.copper.empty()) return;
    layer_ = side == Side::bottom ? board.design.copper.size() - 1 : 0;
    for (const formats::Object& object : board.design.copper[layer_].objects) {
      if (object.kind != formats::ObjectKind::flash || !object.dark || object.shape.size() != 1)
        continue;
      Pad pad{&object.shape[0], box_of(object.shape[0].outer)};
      if (pad.shape->holes.empty()) pads_.push_back(pad);
    }
    std::ranges::sort(pads_, {}, [](const Pad& p) { return p.box.lo.x; });
    for (const Pad& p : pads_) widest_ = std::max(widest_, p.box.hi.x - p.box.lo.x);
  }

  // The farthest a tip can be moved from the middle, both ways; zero where it cannot.
  [[nodiscard]] Position way_along(const expect::Point& point, Nanometres tip) const {
    const Polygon* pad = under(point.at);
    if (!pad || point.join || has_hole(*pad)) return {};
    // Every 15 degrees: pads lie square to the board or to one of its usual slants.
    std::int64_t best = 0;
    double best_angle = 0;
    for (int k = 0; k < 12; ++k) {
      const double angle = k * std::numbers::pi / 12;
      const std::int64_t reach =
          std::min(way(*pad, point, angle), way(*pad, point, angle + std::numbers::pi));
      if (reach > best) best = reach, best_angle = angle;
    }
    const std::int64_t radius = tip.value / 2;
    const auto most = static_cast<double>(best - radius);
    return most > 0 ? offset(best_angle, most) : Position{};
  }

 private:
  struct Pad {
    const Polygon* shape;
    Box box;
  };

  [[nodiscard]] const Polygon* under(Position p) const {
    const Polygon* best = nullptr;
    double best_area = 0;
    auto it = std::ranges::lower_bound(pads_, p.x - widest_, {},
                                       [](const Pad& pad) { return pad.box.lo.x; });
    for (; it != pads_.end() && it->box.lo.x <= p.x; ++it) {
      if (!it->box.contains(p) || locate(p, *it->shape) == Where::outside) continue;
      const double area = area_nm2(*it->shape);
      if (best && area >= best_area) continue;
      best = it->shape;
      best_area = area;
    }
    return best;
  }

  [[nodiscard]] bool has_hole(const Polygon& pad) const {
    return std::ranges::any_of(board_.design.holes, [&](const formats::Hole& hole) {
      return locate(hole.from, pad) != Where::outside || locate(hole.to, pad) != Where::outside;
    });
  }

  static Position offset(double angle, double length) {
    return {std::llround(length * std::cos(angle)), std::llround(length * std::sin(angle))};
  }

  // How far the pad's own copper goes on in that direction.
  [[nodiscard]] std::int64_t way(const Polygon& pad, const expect::Point& point,
                                 double angle) const {
    constexpr std::int64_t kStep = 10'000, kMost = 5'000'000;
    const auto& island = layer_ < point.islands.size() ? point.islands[layer_] : std::nullopt;
    std::int64_t reach = 0;
    for (std::int64_t d = kStep; d <= kMost; d += kStep) {
      const Position p = point.at + offset(angle, static_cast<double>(d));
      if (locate(p, pad) == Where::outside) break;
      if (island && locate(p, board_.copper.island(*island)) == Where::outside) break;
      reach = d;
    }
    return reach;
  }

  const expect::Board& board_;
  std::size_t layer_{};
  std::vector<Pad> pads_;
  std::int64_t widest_{};
};

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
    const Position way = pads.way_along(points[i], tip);
    spots.at[i] = sign[i] > 0 ? points[i].at + way : points[i].at - way;
  }
  spots.clashes = close_pairs(spots.at, here, clearance_of(tip));
  return spots;
}

}  // namespace isthmus::plan
