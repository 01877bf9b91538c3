// SPDX-License-Identifier: Apache-2.0
#include "report/labels.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace isthmus::report {
namespace {

struct Rect {
  double x0, y0, x1, y1;
};

bool overlap(const Rect& a, const Rect& b) {
  return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;
}

bool free_at(const Rect& r, const std::vector<Rect>& taken) {
  return std::ranges::none_of(taken, [&r](const Rect& t) { return overlap(r, t); });
}

}  // namespace

double label_width(const std::string& label, double height) {
  return 0.62 * height * static_cast<double>(label.size());  // digits of a sans-serif type
}

std::vector<LabelPlace> place_labels(const std::vector<Tip>& tips, double radius, double height) {
  constexpr double kFarthest = 12, kStep = 0.3;
  constexpr int kDirections = 24;
  std::vector<Rect> taken;
  for (const Tip& t : tips)
    taken.push_back({t.x - radius, t.y - radius, t.x + radius, t.y + radius});
  std::vector<LabelPlace> places;
  for (const Tip& t : tips) {
    const double w = label_width(t.label, height) + 0.15, h = height;
    const double nearest = radius + height / 2;
    LabelPlace place{t.x, t.y - nearest, false};
    bool found = false;
    for (double d = nearest; d <= kFarthest && !found; d += kStep) {
      for (int k = 0; k < kDirections && !found; ++k) {
        const double turn = (2 * std::numbers::pi * k) / kDirections - std::numbers::pi / 4;
        const double x = t.x + std::cos(turn) * (d + w / 2 - height / 2);
        const double y = t.y + std::sin(turn) * d;
        const Rect r{x - w / 2, y - h / 2, x + w / 2, y + h / 2};
        if (!free_at(r, taken)) continue;
        place = {x, y, d > nearest + 2 * kStep};
        taken.push_back(r);
        found = true;
      }
    }
    places.push_back(place);
  }
  return places;
}

}  // namespace isthmus::report
