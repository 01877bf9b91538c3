// SPDX-License-Identifier: Apache-2.0
// Whether a text is a drill file, whatever it is called.
#pragma once

#include <string_view>
#include <vector>

namespace isthmus::formats {

// By its header (M48), or by tools with their sizes and places in lines of drill commands alone:
// many files have neither header nor unit.
bool is_drill_text(const std::vector<std::string_view>& lines);

}  // namespace isthmus::formats
