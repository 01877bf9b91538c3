// SPDX-License-Identifier: Apache-2.0
#include "expect/rim.hpp"

#include <algorithm>
#include <limits>

namespace isthmus::expect {

double nearest_edge_nm(Position p, const Contour& c) {
  double best = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++) {
    const Position a = c[j], b = c[i];
    // Not nearer than the edge's box: cheaper than the distance, and most are farther.
    const auto beside = [best](std::int64_t lo, std::int64_t hi, std::int64_t at) {
      return static_cast<double>(std::max(lo - at, at - hi)) > best + 1;
    };
    if (beside(std::min(a.x, b.x), std::max(a.x, b.x), p.x) ||
        beside(std::min(a.y, b.y), std::max(a.y, b.y), p.y)) {
      continue;
    }
    best = std::min(best, closest(p, Segment{a, b}).distance_nm);
  }
  return best;
}

}  // namespace isthmus::expect
