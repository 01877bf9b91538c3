// SPDX-License-Identifier: Apache-2.0
// Settles a drill file's open number format by the copper it has to fit.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats {

struct OpenDrill {
  std::string file, bytes;
  DrillFile drill;
  std::optional<Problem> unit_missing;  // what the file is refused with if the copper is silent
};

// As read_drill, but a file that names no unit is left open for the copper to settle.
Result<OpenDrill> open_drill(const std::string& file, std::string bytes, Diagnostics& notes);

// Replaces the holes of every file whose format is open by those of the reading that fits. Errors
// DSN-010, DRL-007.
Result<Done> settle_formats(std::vector<OpenDrill>& files, const std::vector<LayerImage>& copper,
                            Diagnostics& notes);

}  // namespace isthmus::formats
