// SPDX-License-Identifier: Apache-2.0
// Which of the files that could hold the board's holes do.
#pragma once

#include <string>
#include <vector>

#include "isthmus/formats/layer_image.hpp"
#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

struct DrillChoice {
  struct Left {
    const Recognised* file;
    std::string why;
  };
  std::vector<const Recognised*> kept;
  std::vector<std::optional<bool>> plated;  // of each kept: by its own name or its sibling's
  std::vector<Left> left;
};

// Left out: a drawing of the holes (Gerber without flashes or with shapes that are no holes, or
// one that repeats the places of a drill file), a contour routed around the board, and a file
// whose holes another file, or all others together, hold as well.
DrillChoice choose_drills(const std::vector<const Recognised*>& claims,
                          const std::vector<LayerImage>& copper);

}  // namespace isthmus::formats
