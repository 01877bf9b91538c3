// SPDX-License-Identifier: Apache-2.0
// Settles a drill file's open number format by the copper it has to fit.
#pragma once

#include <string>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats {

struct OpenDrill {
  std::string file, bytes;
  DrillFile drill;
};

// Replaces the holes of every file whose format is open by those of the reading that fits. Errors
// DSN-010.
Result<Done> settle_formats(std::vector<OpenDrill>& files, const std::vector<LayerImage>& copper,
                            Diagnostics& notes);

}  // namespace isthmus::formats
