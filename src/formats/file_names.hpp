// SPDX-License-Identifier: Apache-2.0
// What the name of a design file suggests. Common practice, no source.
#pragma once

#include <string>

#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

// Role, side, layer, and `why`; role `other` when the name says nothing usable.
Recognised suggested_by_name(const std::filesystem::path& file);
// Plating and span of a drill file.
std::optional<bool> plating_by_name(const std::filesystem::path& file);
std::optional<std::pair<int, int>> span_by_name(const std::filesystem::path& file);

}  // namespace isthmus::formats
