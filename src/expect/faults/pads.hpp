// SPDX-License-Identifier: Apache-2.0
// The pads under points: what one soldered lead spans is one place.
#pragma once

#include <vector>

#include "isthmus/base/by_left_edge.hpp"
#include "isthmus/base/geometry.hpp"
#include "isthmus/base/units.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::expect {

// Copper wider than this is a pour, and no track: nothing cuts across it. Common practice, no source.
inline constexpr Nanometres kTrackWidth = 2_mm;

// A drawn area of this extent is copper in its own right, whatever it joins.
inline constexpr Nanometres kLeastArea = 2_mm;

// The flashes of one layer. Borrows the image.
class FlashedPads {
 public:
  explicit FlashedPads(const formats::LayerImage& image);
  // The smallest dark flash that holds the place; nothing where none does.
  [[nodiscard]] const formats::Object* under(Position p) const;

 private:
  struct Pad {
    const formats::Object* object;
    double area;
  };
  ByLeftEdge<Pad> pads_;
};

bool holds(const formats::Object& object, Position p);

}  // namespace isthmus::expect
