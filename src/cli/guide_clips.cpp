// SPDX-License-Identifier: Apache-2.0
#include "cli/guide.hpp"

namespace isthmus::cli {

Result<plan::ClipWish> clip_wish(const expect::Board& board, const GuideOptions& o) {
  plan::ClipWish wish;
  for (const std::string& id : o.struck_out) {
    bool found = false;
    for (const Side side : {Side::top, Side::bottom}) {
      const auto point = expect::find_point(board.expectation, id, side);
      if (!point && !found && side == Side::bottom) return point.problem();
      if (!point) continue;
      found = true;
      wish.struck_out.push_back(*point);
    }
  }
  return wish;
}

Result<Done> write_clips(const expect::Board& /*board*/, const GuideOptions& /*o*/,
                         const plan::HandPlan& /*plan*/) {
  return Done{};
}

}  // namespace isthmus::cli
