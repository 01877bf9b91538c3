// SPDX-License-Identifier: Apache-2.0
#include "copper/index/boxes.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::copper {
namespace {

constexpr std::size_t kFanOut = 16;

// Sorted into vertical strips, each from low to high, so that neighbours in the list are near each
// other.
void sort_into_strips(std::span<const Box> boxes, std::vector<std::size_t>& ids) {
  const auto by = [&boxes](std::int64_t Position::*along) {
    return [&boxes, along](std::size_t a, std::size_t b) {
      const std::int64_t ca = boxes[a].centre().*along, cb = boxes[b].centre().*along;
      return ca != cb ? ca < cb : a < b;
    };
  };
  std::sort(ids.begin(), ids.end(), by(&Position::x));
  const double leaves = std::ceil(static_cast<double>(ids.size()) / static_cast<double>(kFanOut));
  const std::size_t strip =
      kFanOut * static_cast<std::size_t>(std::max(1.0, std::ceil(std::sqrt(leaves))));
  for (std::size_t i = 0; i < ids.size(); i += strip) {
    const auto from = ids.begin() + static_cast<std::ptrdiff_t>(i);
    const auto to = ids.begin() + static_cast<std::ptrdiff_t>(std::min(ids.size(), i + strip));
    std::sort(from, to, by(&Position::y));
  }
}

}  // namespace

BoxIndex::BoxIndex(std::span<const Box> boxes) {
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    if (!boxes[i].empty()) ids_.push_back(i);
  }
  sort_into_strips(boxes, ids_);
  levels_.emplace_back();
  for (std::size_t id : ids_) levels_.back().push_back(boxes[id]);
  while (levels_.back().size() > 1) {
    const std::vector<Box>& below = levels_.back();
    std::vector<Box> level((below.size() + kFanOut - 1) / kFanOut);
    for (std::size_t i = 0; i < below.size(); ++i) level[i / kFanOut].add(below[i]);
    levels_.push_back(std::move(level));
  }
}

std::vector<std::size_t> BoxIndex::overlapping(const Box& box) const {
  std::vector<std::size_t> found;
  if (box.empty() || ids_.empty()) return found;
  collect(levels_.size() - 1, 0, box, found);
  std::sort(found.begin(), found.end());
  return found;
}

void BoxIndex::collect(std::size_t level, std::size_t node, const Box& box,
                       std::vector<std::size_t>& found) const {
  if (!levels_[level][node].overlaps(box)) return;
  if (level == 0) {
    found.push_back(ids_[node]);
    return;
  }
  const std::size_t last = std::min((node + 1) * kFanOut, levels_[level - 1].size());
  for (std::size_t child = node * kFanOut; child < last; ++child)
    collect(level - 1, child, box, found);
}

}  // namespace isthmus::copper
