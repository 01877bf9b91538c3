// SPDX-License-Identifier: Apache-2.0
// What is drawn as one pad, and how much copper lies round a place.
#pragma once

#include <vector>

#include "expect/faults/pads.hpp"
#include "isthmus/base/by_left_edge.hpp"
#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::expect {

// The dark things of one layer, found by place. Borrows the image.
class Drawn {
 public:
  explicit Drawn(const formats::LayerImage& image);
  // Those that hold the place, in drawing order.
  [[nodiscard]] std::vector<const formats::Object*> over(Position p) const;
  // Whether one holds the place that is such a one.
  template <class Test>
  [[nodiscard]] bool any_over(Position p, Test test) const {
    bool found = false;
    objects_.each_over({p, p}, [&](const formats::Object* o) {
      found = test(*o) && holds(*o, p);
      return !found;
    });
    return found;
  }

 private:
  ByLeftEdge<const formats::Object*> objects_;
};

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
