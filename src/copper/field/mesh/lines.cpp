// SPDX-License-Identifier: Apache-2.0
#include "copper/field/mesh/lines.hpp"

#include <algorithm>
#include <cmath>

#include "isthmus/base/ensure.hpp"

namespace isthmus::copper {
namespace {

constexpr double kGrowth = 0.25;

}  // namespace

MeshLines MeshLines::even(double begin, double end, double size) {
  ENSURE(size > 0);
  MeshLines lines;
  lines.even_ = size;
  const auto count = static_cast<std::int32_t>(std::floor((end - begin) / size)) + 1;
  for (std::int32_t k = 0; k <= count; ++k) lines.at_.push_back(begin + k * size);
  return lines;
}

MeshLines MeshLines::graded(double begin, double end, double size, std::span<const FineLine> fine) {
  if (fine.empty()) return even(begin, end, size);
  const auto wanted = [&](double x) {
    double width = size;
    for (const FineLine& f : fine) {
      width = std::min(width, f.size + kGrowth * std::abs(x - f.at));
    }
    return width;
  };
  MeshLines lines;
  double x = begin;
  lines.at_.push_back(x);
  while (x <= end) {
    // The width wanted at the cell's far end is what bounds it on the way towards a fine place.
    double width = wanted(x);
    for (int i = 0; i < 4; ++i) width = std::min(width, wanted(x + width));
    x += width;
    lines.at_.push_back(x);
  }
  return lines;
}

std::int32_t MeshLines::cell_of(double v) const {
  if (v < at_.front()) return -1;
  if (v >= at_.back()) return cells();
  if (even_ > 0) {
    return static_cast<std::int32_t>(std::floor((v - at_.front()) / even_));
  }
  return static_cast<std::int32_t>(std::upper_bound(at_.begin(), at_.end(), v) - at_.begin()) - 1;
}

double MeshLines::narrowest(double from, double to) const {
  if (even_ > 0) return even_;
  const std::int32_t first = std::clamp(cell_of(from), 0, cells() - 1),
                     last = std::clamp(cell_of(to), 0, cells() - 1);
  double least = width(first);
  for (std::int32_t k = first + 1; k <= last; ++k) least = std::min(least, width(k));
  return least;
}

}  // namespace isthmus::copper
