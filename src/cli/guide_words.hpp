// SPDX-License-Identifier: Apache-2.0
// What a person with a needle reads: where a pad lies, what was heard, what to do.
#pragma once

#include <string>

#include "isthmus/session/events.hpp"

namespace isthmus::cli {

// "2.54 mm to the left of R4.2", as seen from that side; "12.0 mm right and 3.1 mm above the lower
// left corner" where no named pad is within 15 mm.
std::string where_in_words(const expect::Board& board, PointId point, Side side);

// One or more lines; empty for what needs no words.
std::string in_words(const expect::Board& board, const session::Event& event);

// How often the bell rings: 1 read well, 2 wrong pad or lost, 3 a fault.
int bells(const session::Event& event);

// Once, before anything is touched. Bench practice, no source; local rules come first.
extern const char* const kSafety;
extern const char* const kKeys;

}  // namespace isthmus::cli
