// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/skeleton.hpp"

#include <algorithm>
#include <array>

namespace isthmus::audit {
namespace {

// Neighbours in a circle, from above, clockwise (Zhang and Suen, CACM 27, 1984).
constexpr std::array<std::array<int, 2>, 8> kCircle{
    {{0, 1}, {1, 1}, {1, 0}, {1, -1}, {0, -1}, {-1, -1}, {-1, 0}, {-1, 1}}};

bool may_go(const Grid& grid, const Bitmap& on, std::size_t i, bool first_half) {
  std::array<bool, 8> p{};
  int set = 0, rises = 0;
  for (std::size_t k = 0; k < 8; ++k) {
    const auto offset = static_cast<std::ptrdiff_t>(kCircle[k][1]) * grid.width + kCircle[k][0];
    p[k] = on[static_cast<std::size_t>(static_cast<std::ptrdiff_t>(i) + offset)] != 0;
    set += p[k] ? 1 : 0;
  }
  for (std::size_t k = 0; k < 8; ++k) rises += !p[k] && p[(k + 1) % 8] ? 1 : 0;
  if (set < 2 || set > 6 || rises != 1) return false;
  if (first_half) return !(p[0] && p[2] && p[4]) && !(p[2] && p[4] && p[6]);
  return !(p[0] && p[2] && p[6]) && !(p[0] && p[4] && p[6]);
}

}  // namespace

// Only the border is looked at in each round. The grid keeps a margin of empty cells.
Bitmap skeleton_of(const Grid& grid, const Bitmap& copper) {
  Bitmap on = copper;
  std::vector<std::uint8_t> listed(on.size(), 0);
  std::vector<std::size_t> border;
  const auto list_around = [&](std::size_t i, std::vector<std::size_t>& to) {
    for (const auto& d : kCircle) {
      const auto j = static_cast<std::size_t>(
          static_cast<std::ptrdiff_t>(i) + static_cast<std::ptrdiff_t>(d[1]) * grid.width + d[0]);
      if (on[j] && !listed[j]) listed[j] = 1, to.push_back(j);
    }
  };
  for (std::int32_t y = 1; y + 1 < grid.height; ++y) {
    for (std::int32_t x = 1; x + 1 < grid.width; ++x) {
      if (!on[grid.at(x, y)]) list_around(grid.at(x, y), border);
    }
  }
  while (!border.empty()) {
    std::vector<std::size_t> next, gone_now;
    for (const bool first_half : {true, false}) {
      std::vector<std::size_t> gone;
      for (const std::size_t i : border) {
        if (on[i] && may_go(grid, on, i, first_half)) gone.push_back(i);
      }
      for (const std::size_t i : gone) on[i] = 0;
      gone_now.insert(gone_now.end(), gone.begin(), gone.end());
    }
    for (const std::size_t i : border) listed[i] = 0;
    for (const std::size_t i : gone_now) list_around(i, next);
    border = std::move(next);
  }
  return on;
}

std::vector<std::uint16_t> depth_of(const Grid& grid, const Bitmap& copper) {
  std::vector<std::uint16_t> depth(copper.size(), 0);
  const auto relax = [&](std::size_t i, std::int32_t dx, std::int32_t dy, int cost) {
    const auto j = static_cast<std::size_t>(static_cast<std::ptrdiff_t>(i) +
                                            static_cast<std::ptrdiff_t>(dy) * grid.width + dx);
    depth[i] = std::min(depth[i], static_cast<std::uint16_t>(std::min(60000, depth[j] + cost)));
  };
  for (std::int32_t y = 1; y + 1 < grid.height; ++y) {
    for (std::int32_t x = 1; x + 1 < grid.width; ++x) {
      const std::size_t i = grid.at(x, y);
      if (!copper[i]) continue;
      depth[i] = 60000;
      relax(i, -1, 0, 10), relax(i, 0, -1, 10), relax(i, -1, -1, 14), relax(i, 1, -1, 14);
    }
  }
  for (std::int32_t y = grid.height - 2; y > 0; --y) {
    for (std::int32_t x = grid.width - 2; x > 0; --x) {
      const std::size_t i = grid.at(x, y);
      if (!copper[i]) continue;
      relax(i, 1, 0, 10), relax(i, 0, 1, 10), relax(i, 1, 1, 14), relax(i, -1, 1, 14);
    }
  }
  return depth;
}

}  // namespace isthmus::audit
