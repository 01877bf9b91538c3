// SPDX-License-Identifier: Apache-2.0
#include "plan/sides.hpp"

namespace isthmus::plan {

Side usual_side(const expect::Board& board) {
  std::size_t tops = 0, bottoms = 0;
  for (const expect::Point& p : board.expectation.points) {
    if (!is_wanted(p)) continue;
    tops += p.side == Side::top;
    bottoms += p.side == Side::bottom;
  }
  return bottoms > tops ? Side::bottom : Side::top;
}

Side home_of(const expect::Board& board, const expect::Group& group, Side usual) {
  bool top = false, bottom = false;
  for (const PointId id : group.points) {
    const expect::Point& p = board.expectation.point(id);
    if (!is_wanted(p)) continue;
    top = top || p.side == Side::top;
    bottom = bottom || p.side == Side::bottom;
  }
  return top == bottom ? usual : top ? Side::top : Side::bottom;
}

}  // namespace isthmus::plan
