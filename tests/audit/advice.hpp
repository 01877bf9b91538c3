// SPDX-License-Identifier: Apache-2.0
// For each fault that only the list names: would the touch that the program advises tell of it?
#pragma once

#include <string>
#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/audit/harm.hpp"

namespace isthmus::audit {

struct Silent {  // harmful, no reading changes, named
  Fault fault;
  std::vector<expect::EntryId> entries;
};
struct Advice {
  std::size_t right{};   // touching the two points named tells
  std::size_t nobody{};  // none is named, and no two touchable points would tell
  // Kind, place, side and the points named.
  std::vector<std::string> wrong;   // touching those named tells nothing
  std::vector<std::string> missed;  // none is named, though two would tell
};

Advice check_advice(const expect::Board& board, const diagnose::Diagnosis& diagnosis,
                    const Raster& raster, const Places& places, const std::vector<Silent>& silent);

}  // namespace isthmus::audit
