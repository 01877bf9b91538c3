// SPDX-License-Identifier: Apache-2.0
#include "copper/islands/paint.hpp"

#include <algorithm>
#include <utility>

#include "copper/index/boxes.hpp"

namespace isthmus::copper {
namespace {

struct Clear {
  std::size_t object;  // place in the drawing order
  const Polygon* shape;
};

std::vector<Clear> clear_shapes(const formats::LayerImage& image) {
  std::vector<Clear> clears;
  for (std::size_t i = 0; i < image.objects.size(); ++i) {
    if (image.objects[i].dark) continue;
    for (const Polygon& shape : image.objects[i].shape) clears.push_back({i, &shape});
  }
  return clears;
}

}  // namespace

Polygons paint(const formats::LayerImage& image) {
  const std::vector<Clear> clears = clear_shapes(image);
  std::vector<Box> boxes;
  for (const Clear& clear : clears) boxes.push_back(isthmus::box_of(clear.shape->outer));
  const BoxIndex near(boxes);
  Polygons pieces;
  for (std::size_t i = 0; i < image.objects.size(); ++i) {
    if (!image.objects[i].dark) continue;
    for (const Polygon& shape : image.objects[i].shape) {
      Polygon dark = tidy(shape);
      if (dark.outer.empty()) continue;
      std::vector<const Polygon*> later;
      for (std::size_t c : near.overlapping(isthmus::box_of(dark.outer))) {
        if (clears[c].object > i) later.push_back(clears[c].shape);
      }
      if (later.empty()) {
        pieces.push_back(std::move(dark));
      } else {
        for (Polygon& left : subtract(dark, later)) pieces.push_back(std::move(left));
      }
    }
  }
  return pieces;
}

}  // namespace isthmus::copper
