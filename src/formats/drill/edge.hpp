// SPDX-License-Identifier: Apache-2.0
// A contour routed around the board among its holes.
#pragma once

#include <vector>

#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats {

// For each hole, whether it is a leg of a path that runs around nearly all of the copper: the edge
// of the board, and no hole. Nothing that is said to be plated is one.
std::vector<bool> edge_routes(const std::vector<Hole>& holes,
                              const std::vector<LayerImage>& copper);

}  // namespace isthmus::formats
