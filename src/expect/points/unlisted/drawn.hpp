// SPDX-License-Identifier: Apache-2.0
// What is drawn as one pad, and how much copper lies round a place.
#pragma once

#include <vector>

#include "isthmus/base/by_left_edge.hpp"
#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::expect {

// The things of one layer that are a pad each, where they are a pad at all: flashes, areas smaller
// than a pour, strokes at most twice as long as wide. Borrows the image.
class DrawnPads {
 public:
  explicit DrawnPads(const formats::LayerImage& image);
  // Those that hold the place: flashes; where there are none, the broadest of the others.
  [[nodiscard]] std::vector<const formats::Object*> over(Position p) const;

 private:
  ByLeftEdge<const formats::Object*> flashes_, others_;
};

// From the place to the nearest of the shape; 0 within it.
double distance_to(const Polygon& shape, Position p);
double distance_to(const formats::Object& object, Position p);

// The radius of the largest circle of copper round the place; 0 beside it.
double clearance(const copper::Island& island, Position p);

}  // namespace isthmus::expect
