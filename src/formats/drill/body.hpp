// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/drill.hpp"

namespace isthmus::formats {

inline constexpr std::int64_t kMaxDiameter = 100'000'000;  // nm, of a hole

// Reads the holes under one number format. Errors DRL-002..DRL-019.
Result<std::vector<Hole>> read_drill_body(const std::vector<std::string_view>& lines,
                                          const std::string& file, NumberFormat format,
                                          Diagnostics& notes);

// A drill layer written as Gerber: flashes are holes, strokes are slots. Errors of read_gerber,
// DRL-020.
Result<std::vector<Hole>> read_gerber_drill(std::string_view bytes, const std::string& file,
                                            Diagnostics& notes);

}  // namespace isthmus::formats
