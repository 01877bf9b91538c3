// SPDX-License-Identifier: Apache-2.0
// What boards, units and placements may be called, as names stand in records, JSON and file names.
#pragma once

#include <string>
#include <string_view>

namespace isthmus::formats {

// Why this can name none of them; empty where it can: UTF-8 without control characters, 1 to 255 bytes.
std::string unfit_as_name(std::string_view name);

inline constexpr const char* kNameHint = "a name of 1 to 255 bytes, in UTF-8, on one line";

}  // namespace isthmus::formats
