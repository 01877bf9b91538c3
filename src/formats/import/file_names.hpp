// SPDX-License-Identifier: Apache-2.0
// What the name of a design file suggests. Common practice, no source.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

// Role, side, layer, and `why`; role `other` when the name says nothing usable.
Recognised suggested_by_name(const std::filesystem::path& file);
// Fills a file whose name says nothing from free text: image and layer names (IN, LN) and comments
// that speak of a layer, a side, copper or mask. All that say something must say the same.
void suggest_by_comments(const std::vector<std::string_view>& lines, Recognised& r);
// Plating and span of a drill file.
std::optional<bool> plating_by_name(const std::filesystem::path& file);
std::optional<std::pair<int, int>> span_by_name(const std::filesystem::path& file);

}  // namespace isthmus::formats
