// SPDX-License-Identifier: Apache-2.0
// From objects in drawing order to the dark pieces that stay.
#pragma once

#include "copper/islands/clip.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::copper {

// The dark polygons of the layer, in drawing order, each without what later clear objects remove.
// Painting in order leaves exactly the union of these.
Polygons paint(const formats::LayerImage& image);

}  // namespace isthmus::copper
