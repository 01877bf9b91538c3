// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/track.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <queue>
#include <set>
#include <utility>
#include <vector>

namespace isthmus::hostsim {
namespace {

constexpr double kChordReachNm = 5e6;
constexpr double kSliceCells = 5;

class TrackFinder {
 public:
  TrackFinder(const Grid& grid, const Cells& copper, double x, double y)
      : grid_(grid), copper_(copper), x_(x), y_(y) {}

  Stretch run(double length) {
    Stretch stretch;
    if (!is_copper(floor_of(x_), floor_of(y_))) return stretch;
    find_direction();
    std::map<int, double> slices;  // by distance: copper in steps of five cells
    for (const auto& [cell, distance] : distances(length / 2 + 0.5)) {
      const double share = std::min(1.0, length / 2 + 0.5 - distance);
      if (share <= 0) continue;
      stretch.share[cell] = share;
      stretch.area += share;
      slices[static_cast<int>(distance / kSliceCells)] += share;
    }
    stretch.width = stretch.area / length;
    if (slices.size() < 4) return stretch;
    // The lower quartile: a bend or a pad within the stretch only ever widens.
    std::vector<double> widths;
    for (const auto& [step, copper] : slices) widths.push_back(copper / (2 * kSliceCells));
    widths.pop_back();  // not a whole step
    std::nth_element(widths.begin(),
                     widths.begin() + static_cast<std::ptrdiff_t>(widths.size() / 4), widths.end());
    stretch.width = widths[widths.size() / 4];
    return stretch;
  }

 private:
  static int floor_of(double v) { return static_cast<int>(std::floor(v)); }
  [[nodiscard]] bool is_copper(int x, int y) const {
    return grid_.has(x, y) && copper_[grid_.index(x, y)] != 0;
  }
  [[nodiscard]] int column(std::size_t cell) const {
    return static_cast<int>(cell % static_cast<std::size_t>(grid_.width));
  }
  [[nodiscard]] int row(std::size_t cell) const {
    return static_cast<int>(cell / static_cast<std::size_t>(grid_.width));
  }

  // Copper from the place along a ray, in cells.
  [[nodiscard]] double ray(double dx, double dy) const {
    const double reach = kChordReachNm / grid_.cell_nm;
    double r = 0;
    while (r < reach && is_copper(floor_of(x_ + r * dx), floor_of(y_ + r * dy))) r += 0.1;
    return r;
  }

  [[nodiscard]] double shortest_chord() const {
    double shortest = 1e30;
    for (int degrees = 0; degrees < 180; degrees += 3) {
      const double angle = degrees * std::numbers::pi / 180;
      const double dx = std::cos(angle), dy = std::sin(angle);
      shortest = std::min(shortest, ray(dx, dy) + ray(-dx, -dy));
    }
    return shortest;
  }

  // Copper connected with the place inside a circle around it.
  [[nodiscard]] std::set<std::size_t> disc(double radius) const {
    std::set<std::size_t> seen{grid_.index(floor_of(x_), floor_of(y_))};
    std::vector<std::size_t> stack(seen.begin(), seen.end());
    while (!stack.empty()) {
      const int x = column(stack.back()), y = row(stack.back());
      stack.pop_back();
      for (const auto& [dx, dy] :
           std::array<std::pair<int, int>, 4>{{{1, 0}, {-1, 0}, {0, 1}, {0, -1}}}) {
        if (!is_copper(x + dx, y + dy)) continue;
        if (std::hypot(x + dx + 0.5 - x_, y + dy + 0.5 - y_) > radius) continue;
        const std::size_t next = grid_.index(x + dx, y + dy);
        if (seen.insert(next).second) stack.push_back(next);
      }
    }
    return seen;
  }

  // The principal axis of the copper nearby: a chord's direction would jump with the edge's steps.
  void find_direction() {
    near_ = disc(1.5 * shortest_chord() + 1);
    double mean_x = 0, mean_y = 0;
    for (const std::size_t cell : near_) {
      mean_x += column(cell);
      mean_y += row(cell);
    }
    const auto count = static_cast<double>(near_.size());
    mean_x /= count;
    mean_y /= count;
    double xx = 0, xy = 0, yy = 0;
    for (const std::size_t cell : near_) {
      const double dx = column(cell) - mean_x, dy = row(cell) - mean_y;
      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
    }
    const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
    along_x_ = std::cos(angle);
    along_y_ = std::sin(angle);
  }

  // Ways through the copper from the line across the track at the place, up to `reach`. Steps to
  // sixteen neighbours: at most 2.7 % longer than the straight way.
  [[nodiscard]] std::map<std::size_t, double> distances(double reach) const {
    std::map<std::size_t, double> best;
    using Entry = std::pair<double, std::size_t>;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> open;
    const auto offer = [&](std::size_t cell, double distance) {
      if (distance >= reach) return;
      const auto [it, fresh] = best.try_emplace(cell, distance);
      if (!fresh && it->second <= distance) return;
      it->second = distance;
      open.emplace(distance, cell);
    };
    for (const std::size_t cell : near_) {
      const double along = (column(cell) + 0.5 - x_) * along_x_ + (row(cell) + 0.5 - y_) * along_y_;
      if (std::abs(along) <= 1) offer(cell, std::abs(along));
    }
    while (!open.empty()) {
      const double distance = open.top().first;
      const std::size_t cell = open.top().second;
      open.pop();
      if (distance > best.at(cell)) continue;
      for_steps(cell, [&](std::size_t next, double step) { offer(next, distance + step); });
    }
    return best;
  }

  template <class Take>
  void for_steps(std::size_t cell, const Take& take) const {
    const int x = column(cell), y = row(cell);
    for (int dy = -2; dy <= 2; ++dy) {
      for (int dx = -2; dx <= 2; ++dx) {
        const int most = std::max(std::abs(dx), std::abs(dy));
        if (most == 0 || (most == 2 && std::abs(dx * dy) != 2)) continue;
        if (!is_copper(x + dx, y + dy)) continue;
        // No step over bare ground: what lies between must be copper too.
        if (!is_copper(x + dx / 2, y + dy / 2) && most == 2) continue;
        if (!is_copper(x + dx - dx / 2, y + dy - dy / 2) && most == 2) continue;
        if (most == 1 && dx * dy != 0 && !is_copper(x + dx, y) && !is_copper(x, y + dy)) continue;
        take(grid_.index(x + dx, y + dy), std::hypot(dx, dy));
      }
    }
  }

  const Grid& grid_;
  const Cells& copper_;
  double x_, y_;
  double along_x_{1}, along_y_{0};
  std::set<std::size_t> near_;
};

}  // namespace

Stretch stretch_of_track(const Grid& grid, const Cells& copper, double x, double y, double length) {
  return TrackFinder(grid, copper, x, y).run(length);
}

}  // namespace isthmus::hostsim
